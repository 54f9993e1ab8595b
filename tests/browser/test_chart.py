"""The frequencies: from no plan to one that was found, looked into, locked and printed, on the screen alone."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
import pytest_asyncio
from playwright.async_api import expect

from tests.browser.test_access import violations

if TYPE_CHECKING:
    from playwright.async_api import Locator

    from tests.browser.screen import Screen

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

CAUTION = "Nothing shown here is a licence or permission to transmit"
PARTS = 21
"""The demonstration has 24 channels, three of them spares."""


@pytest_asyncio.fixture(loop_scope="session")
async def chart(screen: Screen) -> Locator:
    """The screen of frequencies, reached by its key."""
    await screen.page.keyboard.press("C")
    found = screen.page.locator("redpoll-chart")
    await expect(found.locator(".caution")).to_contain_text(CAUTION)
    return found


async def begin(screen: Screen, chart: Locator, title: str) -> None:
    """A new plan for the whole production."""
    await chart.get_by_role("button", name="New plan").click()
    await screen.page.keyboard.type(title)
    await screen.page.keyboard.press("Enter")
    await expect(chart).to_contain_text(f"{PARTS} carriers asked for")


async def plan(screen: Screen, name: str) -> dict[str, Any]:
    """The plan as the console keeps it."""
    answer = await screen.page.request.get(f"{screen.origin}/api/v1/plans/{name}")
    return json.loads(await answer.text())  # type: ignore[no-any-return]  # Whatever the console sent.


async def test_a_plan_is_found_looked_into_locked_and_printed(screen: Screen, chart: Locator) -> None:
    """From no plan over a search that is stopped with its best to the page, and what it would do on the air."""
    await begin(screen, chart, "Evening")
    await chart.get_by_role("button", name="go on for wider margins").click()
    await screen.page.keyboard.press("f")
    await expect(chart).to_contain_text(f"{PARTS} of {PARTS} stand after")
    await screen.page.keyboard.press("x")
    await expect(chart).to_contain_text(f"All {PARTS} stand")
    found = await plan(screen, "evening")
    assert found["complete"]
    assert len(found["carriers"]) == PARTS

    await chart.get_by_role("tab", name="Found").click()
    lowest = min(one["frequency_hz"] for one in found["carriers"])
    await screen.page.keyboard.press("ArrowRight")
    await expect(chart.locator("redpoll-neighbours")).to_contain_text(f"{lowest / 1e6:.3f}")
    await expect(chart.locator("redpoll-neighbours button.near").first).to_contain_text("to spare")
    assert await violations(screen.page) == []

    await screen.page.keyboard.press("l")
    await expect(chart.get_by_role("button", name="Let it move")).to_be_visible()
    locked = [one["frequency_hz"] for one in (await plan(screen, "evening"))["carriers"] if one["locked"]]
    assert locked == [lowest]

    await chart.get_by_role("tab", name="Use").click()
    link = chart.get_by_role("link", name="Page to print")
    page = await (await screen.page.request.get(screen.origin + str(await link.get_attribute("href")))).text()
    assert CAUTION in page
    assert all(f"{one['frequency_hz'] / 1e6:.3f}" in page for one in found["carriers"])
    await chart.get_by_role("button", name="Give to the production").click()
    await expect(chart).to_contain_text(f"{PARTS} of {PARTS} carriers are meant for a channel")
    await chart.get_by_role("button", name="Show what it would do").click()
    await expect(chart.get_by_role("button", name="Hold to put it on the air")).to_be_visible()
    await chart.get_by_role("button", name="Reckon").click()
    await expect(chart.locator("redpoll-chart-if li", has_text="House")).to_contain_text("dB")
    assert await violations(screen.page) == []


async def test_what_a_plan_breaks_is_marked_and_a_refused_request_keeps_nothing(screen: Screen, chart: Locator) -> None:
    """A plan of another's making with a carrier on a product; then a window that ends before it begins."""
    # 2 · 471.000 - 470.000 = 472.000: the third carrier stands on a product of the first two.
    carriers = [
        {"group": "House", "zone": "House", "frequency_hz": hertz} for hertz in (470_000_000, 471_000_000, 472_000_000)
    ]
    profile = {"name": "analog", "spacing_hz": 400_000, "third_two_signal_hz": 100_000}
    request = {
        "raster_hz": 25_000,
        "window": [{"start_hz": 470_000_000, "stop_hz": 478_000_000}],
        "profile": [profile],
        "group": [{"name": "House", "zone": "House", "profile": "analog", "count": 3}],
    }
    body = {"title": "A bad one", "request": request, "carriers": carriers}
    headers = {"Origin": screen.origin}
    put = await screen.page.request.put(f"{screen.origin}/api/v1/plans/a-bad-one", data=body, headers=headers)
    assert put.ok, await put.text()
    await screen.page.reload()
    await chart.locator("redpoll-plan-head select").select_option("a-bad-one")
    await chart.get_by_role("tab", name="Found").click()
    await expect(chart.locator("redpoll-plan-found .faults li", has_text="472.000")).to_be_visible()
    await expect(chart.locator("redpoll-plan-found redpoll-mark").first).to_be_visible()

    await chart.get_by_role("tab", name="Ask").click()
    stop = chart.get_by_label("to, MHz").first
    await stop.fill("460")
    await stop.press("Enter")
    await chart.get_by_role("button", name="Keep the request").click()
    await expect(chart.get_by_role("alert")).to_contain_text("window")
    assert (await plan(screen, "a-bad-one"))["request"]["window"] == request["window"]
    # A browser calls every refusal an error of the page; this one was asked for.
    assert all("422" in complaint for complaint in screen.complaints)
    screen.complaints.clear()
    await chart.get_by_role("button", name="Forget the changes").click()
    await expect(stop).to_have_value("478")
