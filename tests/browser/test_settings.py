"""Settings: asked, confirmed, refused; dangerous ones held."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.browser.screen import MINUS, open_screen
from tests.browser.stage import entered, running

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.async_api import Browser

    from tests.browser.screen import Screen
    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

HOLD_MS = 800


async def test_a_change_is_asked_for_and_confirmed_by_the_pack(screen: Screen, stage: Stage) -> None:
    """The world itself tells that the pack has it."""
    await screen.open_row("house-2/channel/1")
    control = screen.control("pack/k03", "input_trim_db")
    await control.get_by_role("button", name="more").click()
    await control.get_by_role("button", name="Set", exact=True).click()
    await expect(control.locator(".note")).to_contain_text("confirmed")
    shown = await control.locator("input").input_value()
    truth = await stage.exercise.call("truth", address="pack/k03")
    assert truth["settings"]["input_trim_db"] == float(shown.replace(MINUS, "-"))


async def test_an_empty_tap_on_a_dangerous_act_does_nothing(screen: Screen, stage: Stage) -> None:
    """Power names its target and asks to be held; letting go early leaves everything as it was."""
    await screen.open_row("house-2/channel/2")
    control = screen.control("pack/k04", "rf_power_mw")
    await control.get_by_role("button", name="50 mW").click()
    hold = control.locator("redpoll-hold button")
    await expect(hold).to_contain_text("4 Tern")
    await hold.click()
    truth = await stage.exercise.call("truth", address="pack/k04")
    assert truth["settings"]["rf_power_mw"] == 10


async def test_a_dangerous_act_that_is_held_is_done(screen: Screen, stage: Stage) -> None:
    """By the keyboard, as by the pointer."""
    await screen.open_row("house-3/channel/1")
    control = screen.control("pack/k05", "rf_power_mw")
    await control.get_by_role("button", name="50 mW").click()
    await control.locator("redpoll-hold button").focus()
    await screen.page.keyboard.down("Enter")
    await expect(control.locator("redpoll-hold")).to_have_count(0)
    await screen.page.keyboard.up("Enter")
    await expect(control.locator(".note")).to_contain_text("confirmed")
    truth = await stage.exercise.call("truth", address="pack/k05")
    assert truth["settings"]["rf_power_mw"] == 50


async def test_a_value_out_of_range_is_never_sent(screen: Screen) -> None:
    """The allowed value is said beside it."""
    await screen.open_row("house-3/channel/2")
    control = screen.control("pack/k06", "input_trim_db")
    await control.locator("input").fill("999")
    await expect(control.get_by_role("alert")).to_contain_text("at most")
    await expect(control.get_by_role("button", name="Set", exact=True)).to_have_count(0)


async def test_a_held_return_link_shows_as_asked_not_as_done(screen: Screen, stage: Stage) -> None:
    """What was asked stays in sight beside what is reported, then becomes unknown, then is settled."""
    await stage.exercise.call("hold_return_link", pack="pack/k07")
    await screen.open_row("house-4/channel/1")
    control = screen.control("pack/k07", "input_trim_db")
    reported = await control.locator("input").input_value()
    await control.get_by_role("button", name="more").click()
    await control.get_by_role("button", name="Set", exact=True).click()
    await expect(control.locator(".note")).to_contain_text("asked for")
    await expect(control.locator("input")).to_have_value(reported)
    await expect(control.locator(".note")).to_contain_text("outcome unknown")
    await stage.exercise.call("restore_return_link", pack="pack/k07")
    await expect(control.locator("input")).not_to_have_value(reported)


async def test_a_change_at_the_panel_is_shown(screen: Screen, stage: Stage) -> None:
    """Nobody asked for it here, and it is there all the same."""
    await screen.open_row("house-4/channel/2")
    await stage.exercise.call("turn_panel", address="house-4/channel/2", changes={"trim_db": -3})
    await expect(screen.control("house-4/channel/2", "trim_db").locator("input")).to_have_value(
        re.compile(f"^{MINUS}3")
    )
    await expect(screen.page.locator("redpoll-detail .journal")).to_contain_text("at the panel")


async def test_settings_that_no_catalogue_knows_get_working_controls(browser: Browser, tmp_path: Path) -> None:
    """An integer, a choice and a switch of a device's own, with no change to the screen."""
    async with running("fixture", tmp_path) as stage:
        context = await entered(browser, stage)
        screen = await open_screen(context, stage.origin)
        await screen.open_row("fixture-1/channel/1")
        fan = screen.control("fixture-1", "fan_speed_percent")
        await expect(fan).to_contain_text("fan speed")
        await fan.get_by_role("button", name="more").click()
        await fan.get_by_role("button", name="Set", exact=True).click()
        await expect(fan.locator(".note")).to_contain_text("confirmed")
        await expect(fan.locator("input")).to_have_value("60")
        lamp = screen.control("fixture-1", "lamp_ring")
        await lamp.get_by_role("switch").click()
        await expect(lamp.locator(".note")).to_contain_text("confirmed")
        await expect(lamp.get_by_role("switch")).to_have_attribute("aria-checked", "false")
        voicing = screen.control("fixture-1/channel/1", "voicing")
        await voicing.get_by_role("button", name="warm").click()
        await expect(voicing.get_by_role("button", name="warm")).to_have_attribute("aria-pressed", "true")
        assert screen.complaints == []
        await context.close()
