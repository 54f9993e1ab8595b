"""The panel of devices: found by a key and a click, clean, and able to take a device away and bring it back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.browser.test_access import violations

if TYPE_CHECKING:
    from playwright.async_api import Locator

    from tests.browser.screen import Screen

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

DEVICE = "house-5"
ROW = f"{DEVICE}/channel/1"
HOLD_MS = 1_000
"""Longer than a dangerous act is held."""


def line(screen: Screen, device_id: str = DEVICE) -> Locator:
    return screen.page.locator(f'redpoll-devices li[data-device="{device_id}"]')


async def hold(screen: Screen, button: Locator) -> None:
    await button.focus()
    await screen.page.keyboard.down("Enter")
    await screen.page.wait_for_timeout(HOLD_MS)
    await screen.page.keyboard.up("Enter")


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (390, 844)])
async def test_every_device_is_listed_and_the_panel_is_clean(screen: Screen, width: int, height: int) -> None:
    """By the key, and by the count at the foot."""
    await screen.page.set_viewport_size({"width": width, "height": height})
    await screen.page.keyboard.press("d")
    await expect(line(screen)).to_contain_text("reports")
    await expect(line(screen)).to_contain_text("simulated")
    assert await violations(screen.page) == []
    await screen.page.keyboard.press("Escape")
    await expect(screen.page.locator("redpoll-devices dialog")).to_be_hidden()
    await screen.page.locator("redpoll-foot button").click()
    await expect(screen.page.locator("redpoll-devices dialog")).to_be_visible()


async def test_looking_says_who_is_there_and_who_is_not(screen: Screen) -> None:
    """Nothing is added by it."""
    await screen.page.keyboard.press("d")
    url = await line(screen).get_by_text(re.compile("^ws://")).first.inner_text()
    field = screen.page.locator("redpoll-devices #address")
    await field.fill(url.splitlines()[0])
    await screen.page.keyboard.press("Enter")
    await expect(screen.page.get_by_text("listed already, at")).to_be_visible()
    await field.fill("ws://169.254.169.254:20001")
    await screen.page.keyboard.press("Enter")
    await expect(screen.page.locator("redpoll-devices .said")).to_contain_text("link-local")
    # A browser calls every refusal an error of the page; this one was asked for.
    assert all("422" in complaint for complaint in screen.complaints)
    screen.complaints.clear()


async def test_a_device_is_switched_off_and_brought_back(screen: Screen) -> None:
    """Its rows stay, blank, and say that it is removed."""
    await screen.page.keyboard.press("d")
    await line(screen).get_by_role("button", name="More").click()
    await hold(screen, line(screen).get_by_role("button", name="switch"))
    await expect(line(screen)).to_contain_text("switched off")
    await expect(screen.row(ROW)).to_contain_text("removed")
    await hold(screen, line(screen).get_by_role("button", name="remove"))
    await expect(line(screen)).to_contain_text("given at start-up")
    await expect(line(screen)).to_contain_text("reports")
    await screen.page.keyboard.press("Escape")
    await expect(screen.row(ROW)).not_to_contain_text("removed")


async def test_a_device_is_opened_from_the_panel(screen: Screen) -> None:
    """The panel makes room for its sheet."""
    await screen.page.keyboard.press("d")
    await line(screen).get_by_role("button", name="Open").click()
    await expect(screen.page.locator("redpoll-sheet")).to_be_visible()
    await screen.page.keyboard.press("Escape")
