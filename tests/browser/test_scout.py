"""The survey: a receiver scans, the scan is kept with its age, and what it shows is kept out of a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from playwright.async_api import expect

from tests.browser.test_access import violations

if TYPE_CHECKING:
    from playwright.async_api import Locator

    from tests.browser.screen import Screen

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

HOLD_MS = 1_000
"""Longer than a dangerous act is held."""
ON_AIR_HZ = 525_900_000
"""Where a part of the demonstration stands whose pack is on, by its scenario."""
LINES = [f"{524 + step * 0.025:.3f},{-104 + step % 3}" for step in range(160)]


def scout(screen: Screen) -> Locator:
    return screen.page.locator("redpoll-scout")


async def hold(screen: Screen, button: Locator) -> None:
    await button.focus()
    await screen.page.keyboard.down("Enter")
    await screen.page.wait_for_timeout(HOLD_MS)
    await screen.page.keyboard.up("Enter")


async def chosen_plan(screen: Screen) -> dict[str, Any]:
    """The plan that is chosen on the screen, as the console keeps it."""
    name = await screen.page.locator("redpoll-keep-out #plan").input_value()
    plan: dict[str, Any] = await (await screen.page.request.get(f"{screen.origin}/api/v1/plans/{name}")).json()
    return plan


async def paint(screen: Screen) -> None:
    """Keep two stretches out: by the keys at the cursor, then by dragging along the room."""
    plot = screen.page.locator("redpoll-spectrum .plot")
    await plot.focus()
    for key in ("ArrowRight", "e", "Shift+ArrowRight", "e"):
        await screen.page.keyboard.press(key)
    await expect(screen.page.locator("redpoll-keep-out li", has_text="painted")).to_have_count(1)
    box = await plot.bounding_box()
    assert box is not None
    room = await screen.page.locator("redpoll-spectrum").evaluate("(one) => one.layout.room")
    y = box["y"] + room["top"] + room["height"] / 2
    await screen.page.mouse.move(box["x"] + box["width"] * 0.2, y)
    await screen.page.mouse.down()
    await screen.page.mouse.move(box["x"] + box["width"] * 0.25, y, steps=3)
    await screen.page.mouse.up()


async def begin_scan(screen: Screen, place: str, span: str) -> None:
    """By keys but for the hold: what scans first is a spare, so that nobody is muted."""
    await screen.page.keyboard.press("n")
    form = screen.page.locator("redpoll-scout-take")
    await form.locator("#place").fill(place)
    await form.locator("#span").fill(span)
    await hold(screen, form.locator("redpoll-hold button"))


async def test_a_scan_is_kept_and_what_it_shows_is_kept_out_of_a_plan(screen: Screen) -> None:
    """From no survey to an exclusion, on the screen alone."""
    await screen.page.keyboard.press("S")
    await expect(scout(screen)).to_contain_text("No scan is kept yet")
    await begin_scan(screen, "House left", "524-528")
    line = screen.page.locator("redpoll-scans li", has_text="House left")
    await expect(line).to_contain_text("s ago")
    await expect(line).to_contain_text("Simulated")
    await expect(scout(screen).locator(".asks")).to_contain_text("Were your transmitters off?")
    await expect(screen.page.locator("redpoll-findings")).to_contain_text("525.9")
    assert await violations(screen.page) == []

    keep = screen.page.locator("redpoll-keep-out")
    await keep.locator("details").evaluate("(one) => { one.open = true }")
    await keep.locator("#title").fill("Before the show")
    await keep.get_by_role("button", name="Begin", exact=True).click()
    await expect(keep.locator("#plan")).to_have_value("before-the-show")
    await keep.get_by_role("button", name="Keep out what is taken").click()
    await expect(keep).to_contain_text("written, revision 2")
    await keep.locator("#stretch").fill("527-527.5")
    await keep.locator("#why").fill("camera crew")
    await screen.page.keyboard.press("Enter")
    await expect(keep.locator("li", has_text="camera crew")).to_be_visible()

    await paint(screen)
    await expect(keep.locator("li", has_text="painted")).to_have_count(2)

    plan = await chosen_plan(screen)
    kept = [(one["start_hz"], one["stop_hz"]) for one in plan["request"]["exclusion"]]
    assert (527_000_000, 527_500_000) in kept
    assert any(start <= ON_AIR_HZ <= stop for start, stop in kept)
    assert plan["request"]["window"] == [{"start_hz": 524_000_000, "stop_hz": 528_000_000}]


async def test_a_bad_file_and_a_scan_that_is_given_up_keep_nothing_and_a_good_file_is_compared(screen: Screen) -> None:
    """What is wrong with a file is said with its line; a scan shows how far it is, and ends when it is asked to."""
    await screen.page.keyboard.press("S")
    await screen.page.keyboard.press("f")
    form = screen.page.locator("redpoll-scout-file")

    async def bring(name: str, lines: list[str]) -> None:
        text = "\n".join(["MHz,dBm", *lines])
        await form.locator("input[type=file]").set_input_files(
            {"name": name, "mimeType": "text/csv", "buffer": text.encode()}
        )
        await form.locator("#place").fill("Quay")
        await form.get_by_role("button", name="Keep this file").click()

    await bring("bad.csv", [*LINES[:3], "524.075,loud", *LINES[4:]])
    await expect(form.get_by_role("alert")).to_contain_text("line 5")
    await expect(screen.page.locator("redpoll-scans li", has_text="bad.csv")).to_have_count(0)
    # A browser calls every refusal an error of the page; this one was asked for.
    assert all("422" in complaint for complaint in screen.complaints)
    screen.complaints.clear()

    await bring("quay.csv", LINES)
    await expect(screen.page.locator("redpoll-scans li", has_text="quay.csv")).to_be_visible()
    await screen.page.keyboard.press("c")
    await expect(scout(screen)).to_contain_text("What changed in")
    await expect(screen.page.locator("redpoll-findings")).to_contain_text("went")

    await begin_scan(screen, "Nowhere", "470-694")
    run = screen.page.locator("redpoll-scout-take")
    await expect(run).to_contain_text("%")
    await run.get_by_role("button", name="Give up").click()
    await expect(run).to_contain_text("given up")
    await run.get_by_role("button", name="Seen").click()
    await expect(screen.page.locator("redpoll-scans li", has_text="Nowhere")).to_have_count(0)
