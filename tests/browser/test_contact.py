"""A receiver that falls silent and comes back; a console that does."""

from __future__ import annotations

import os
import re
import signal
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.browser.screen import A_LEVEL, Screen
from tests.browser.stage import asleep, silent

if TYPE_CHECKING:
    from playwright.async_api import BrowserContext

    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]


async def test_a_silent_receiver_is_unknown_and_returns_without_a_reload(screen: Screen, stage: Stage) -> None:
    """Its rows show an age in place of values, its matter a slot; nobody presses reload."""
    await screen.page.evaluate("() => { globalThis.stillTheSamePage = true; }")
    row = screen.row("quay-3/channel/1")
    async with silent(stage, "quay-3"):
        await expect(row.locator(".over")).to_have_text(re.compile("^no report for [0-9]+ s$"))
        await expect(row.locator(".level")).to_have_text("")
        slot = screen.page.locator("redpoll-strip .slot", has_text="silent")
        await expect(slot).to_contain_text("21 and 22")
        await screen.page.keyboard.press("1")
        await screen.page.keyboard.press("a")
        await expect(slot).to_contain_text("acknowledged")
    await expect(row.locator(".level")).to_have_text(A_LEVEL)
    await expect(slot).to_have_count(0)
    assert await screen.page.evaluate("() => globalThis.stillTheSamePage === true")


async def test_a_sleeping_pack_is_no_alarm(screen: Screen, stage: Stage) -> None:
    """It is said in the row, and no slot is taken."""
    row = screen.row("house-6/channel/2")
    async with asleep(stage, "pack/k12"):
        await expect(row.locator(".said")).to_have_text("asleep")
        await expect(screen.page.locator("redpoll-foot")).to_contain_text("1 asleep")
        await expect(screen.page.locator("redpoll-strip .slot")).to_have_count(0)
    await expect(row.locator(".said")).to_have_text("")


async def test_a_console_that_stops_is_said_and_found_again(context: BrowserContext, stage: Stage) -> None:
    """Nothing stays good while it is gone; the picture comes back by itself."""
    page = await context.new_page()
    await page.goto(stage.origin + "/")
    screen = Screen(page, stage.origin)
    row = screen.row("house-1/channel/1")
    await expect(row.locator(".level")).to_have_text(A_LEVEL)
    os.kill(stage.console.process_id, signal.SIGSTOP)
    try:
        await expect(page.get_by_text("The connection to the console is lost.")).to_be_visible()
        await expect(row.locator(".level")).to_have_text("")
        await expect(page.locator("redpoll-foot")).to_contain_text("0 on air, 24 unknown")
    finally:
        os.kill(stage.console.process_id, signal.SIGCONT)
    await expect(page.get_by_text("The connection to the console is lost.")).to_be_hidden()
    await expect(row.locator(".level")).to_have_text(A_LEVEL)
    await page.close()
