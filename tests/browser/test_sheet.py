"""The sheet of a device: opened from a row or from the panel, with its parts, readings, settings and journal; clean."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.browser.test_access import violations

if TYPE_CHECKING:
    from tests.browser.screen import Screen

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (390, 844)])
async def test_a_distribution_shows_its_sockets_and_is_clean(screen: Screen, width: int, height: int) -> None:
    """From the panel of devices; the sheet names the feeds as the production does."""
    await screen.page.set_viewport_size({"width": width, "height": height})
    await screen.page.keyboard.press("d")
    line = screen.page.locator('redpoll-devices li[data-device="house-split"]')
    await line.get_by_role("button", name="Open").click()
    sheet = screen.page.locator("redpoll-thing")
    for words in ("Antenna socket A", "House left", "House right", "feed powered", "described itself"):
        await expect(sheet.get_by_text(words).first).to_be_visible()
    assert await violations(screen.page) == []
    await screen.page.keyboard.press("Escape")
    await expect(sheet).to_have_count(0)


async def test_a_setting_of_a_socket_is_made_and_confirmed_on_the_sheet(screen: Screen) -> None:
    """A part of it is chosen at the left, and its name is the device's own word for it."""
    await screen.page.keyboard.press("d")
    line = screen.page.locator('redpoll-devices li[data-device="house-8"]')
    await line.get_by_role("button", name="Open").click()
    sheet = screen.page.locator("redpoll-thing")
    await sheet.get_by_text("Channel 1").first.click()
    trim = sheet.locator("redpoll-control", has_text="receiver trim")
    await expect(trim).to_be_visible()
    await trim.get_by_role("button", name="more").click()
    await trim.locator("input").press("Enter")
    await expect(trim.locator("input")).to_have_value("1")
    await expect(trim).to_contain_text("confirmed")
    await screen.page.keyboard.press("Escape")
