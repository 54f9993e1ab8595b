"""How somebody comes in, and what those see who may not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

if TYPE_CHECKING:
    from playwright.async_api import Browser, BrowserContext

    from tests.browser.screen import Screen
    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]


async def test_the_token_leaves_the_address(context: BrowserContext, stage: Stage) -> None:
    """A link that was used stays in no history and on no screenshot; its browser is let in by its cookie."""
    page = await context.new_page()
    await page.goto(stage.link)
    await expect(page.locator("redpoll-row")).to_have_count(24)
    assert "launch" not in page.url
    await page.close()


async def test_without_a_session_the_page_says_how_to_come_by_a_link(browser: Browser, stage: Stage) -> None:
    """Nothing of the production is shown to a stranger."""
    stranger = await browser.new_context()
    page = await stranger.new_page()
    await page.goto(stage.origin + "/")
    await expect(page.get_by_role("heading", name="Log in")).to_be_visible()
    await expect(page.locator("redpoll-row")).to_have_count(0)
    await stranger.close()


async def test_a_used_link_opens_nothing_in_another_browser(browser: Browser, stage: Stage) -> None:
    """The console's reason is said."""
    stranger = await browser.new_context()
    page = await stranger.new_page()
    await page.goto(stage.link)
    await expect(page.get_by_text("The console said:")).to_be_visible()
    await stranger.close()


async def test_a_simulated_fleet_is_called_so(screen: Screen) -> None:
    """The badge is on the screen whenever any receiver in view is simulated."""
    await expect(screen.page.get_by_text("Simulated", exact=True)).to_be_visible()
    await expect(screen.page.get_by_role("heading", name="The Lamp at Tern Rock")).to_be_visible()
