"""The keyboard, one hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

if TYPE_CHECKING:
    from tests.browser.screen import Screen

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]


async def test_rows_are_walked_opened_and_closed(screen: Screen) -> None:
    """The focus is where the selection is, and comes back when the detail is closed."""
    await screen.page.keyboard.press("j")
    await screen.page.keyboard.press("j")
    second = screen.row("house-1/channel/2")
    await expect(second).to_be_focused()
    await screen.page.keyboard.press("Enter")
    await expect(second).to_have_attribute("aria-expanded", "true")
    await screen.page.keyboard.press("Escape")
    await expect(screen.page.locator("redpoll-detail")).to_have_count(0)
    await expect(second).to_be_focused()
    await screen.page.keyboard.press("k")
    await expect(screen.row("house-1/channel/1")).to_be_focused()
    await screen.page.keyboard.press("End")
    await expect(screen.row("camera-1/channel/2")).to_be_focused()


async def test_a_part_or_a_number_is_found(screen: Screen) -> None:
    """Rows don't move; the selection does."""
    await screen.page.keyboard.press("/")
    await screen.page.keyboard.type("fidd")
    await screen.page.keyboard.press("Enter")
    await expect(screen.row("quay-1/channel/1")).to_be_focused()
    await screen.page.keyboard.press("/")
    await screen.page.keyboard.type("10")
    await screen.page.keyboard.press("Enter")
    await expect(screen.row("house-5/channel/2")).to_be_focused()


async def test_the_keys_are_listed(screen: Screen) -> None:
    """By the question mark, and away by Escape."""
    await screen.page.keyboard.press("?")
    await expect(screen.page.get_by_role("heading", name="Keys")).to_be_visible()
    await screen.page.keyboard.press("Escape")
    await expect(screen.page.get_by_role("heading", name="Keys")).to_be_hidden()


async def test_the_theme_is_kept(screen: Screen) -> None:
    """Across a reload, on this machine."""
    root = screen.page.locator("html")
    await expect(root).to_have_attribute("data-theme", "dark")
    await screen.page.keyboard.press("t")
    await expect(root).to_have_attribute("data-theme", "light")
    await screen.page.reload()
    await expect(root).to_have_attribute("data-theme", "light")
    await expect(screen.page.locator("redpoll-row")).to_have_count(24)
    await screen.page.keyboard.press("t")
    await expect(root).to_have_attribute("data-theme", "dark")
