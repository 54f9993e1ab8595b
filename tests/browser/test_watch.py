"""The live watch: all rows, moving, on one screen."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.browser.screen import A_LEVEL

if TYPE_CHECKING:
    from tests.browser.screen import Screen

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

_PICTURE_OF_STRANDS = """() => {
  const field = document.querySelector("redpoll-shell").shadowRoot.querySelector("redpoll-heed").shadowRoot;
  return field.querySelector("canvas").toDataURL();
}"""
_ROOM_BELOW = """() => {
  const field = document.querySelector("redpoll-shell").shadowRoot.querySelector("redpoll-heed").shadowRoot;
  const scroller = field.querySelector(".scroller");
  return scroller.clientHeight - scroller.scrollHeight;
}"""
_SMALLEST_TYPE = """() => {
  const shell = document.querySelector("redpoll-shell").shadowRoot;
  const sizes = [];
  const visit = (root) => {
    for (const element of root.querySelectorAll("*")) {
      if (element.shadowRoot) visit(element.shadowRoot);
      const own = [...element.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim() !== "");
      const seen = element.checkVisibility() && element.localName !== "text" && element.getClientRects().length > 0;
      if (own && seen) sizes.push(Number.parseFloat(getComputedStyle(element).fontSize));
    }
  };
  visit(shell);
  return Math.min(...sizes);
}"""


async def test_all_rows_report_and_move(screen: Screen) -> None:
    """24 rows with levels; strands and meters change by themselves."""
    rows = screen.page.locator("redpoll-row")
    await expect(rows).to_have_count(24)
    for index in range(24):
        await expect(rows.nth(index).locator(".level")).to_have_text(A_LEVEL)
    first = await screen.page.evaluate(_PICTURE_OF_STRANDS)
    await screen.page.wait_for_function(f"(before) => ({_PICTURE_OF_STRANDS})() !== before", arg=first)
    tick = screen.row("house-1/channel/1").locator(".tick")
    before = await tick.get_attribute("style")
    await expect(tick).not_to_have_attribute("style", before or "")


async def test_the_counts_in_the_foot_equal_the_rows(screen: Screen) -> None:
    """Every row is counted once."""
    foot = screen.page.locator("redpoll-foot")
    await expect(foot).to_contain_text("devices, all report")
    counts = foot.locator("span", has_text="24 channels:")
    numbers = [int(number) for number in re.findall(r"[0-9]+", await counts.inner_text())]
    assert sum(numbers[1:]) == numbers[0] == 24


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1366, 768)])
async def test_all_rows_stand_on_one_screen(screen: Screen, width: int, height: int) -> None:
    """Nothing is scrolled out of sight, and no type is smaller than 15 px (screens: sizes and contrast)."""
    await screen.page.set_viewport_size({"width": width, "height": height})
    await screen.page.wait_for_function(f"() => ({_ROOM_BELOW})() >= 0")
    assert await screen.page.evaluate(_SMALLEST_TYPE) >= 15


async def test_on_a_phone_a_row_is_number_part_verdict_and_life(screen: Screen) -> None:
    """Rows are large enough for a finger and nothing is cut off at the side."""
    await screen.page.set_viewport_size({"width": 390, "height": 844})
    row = screen.row("house-1/channel/1")
    for part in (".number", ".part", ".verdict", ".life"):
        await expect(row.locator(part)).to_be_visible()
    await expect(row.locator(".strand")).to_be_hidden()
    box = await row.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 390


async def test_a_reload_loses_nothing_of_the_past(screen: Screen) -> None:
    """The strand of a page that was just opened reaches as far back as the console remembers."""
    filled = """() => {
      const field = document.querySelector("redpoll-shell").shadowRoot.querySelector("redpoll-heed");
      return field.store.strands.of("house-1/channel/1").firstAt;
    }"""
    before = await screen.page.evaluate(filled)
    now = "() => document.querySelector('redpoll-shell').store.clock.seconds(performance.now())"
    age_before = await screen.page.evaluate(now) - before
    await screen.page.reload()
    await expect(screen.page.locator("redpoll-row")).to_have_count(24)
    await screen.page.wait_for_function(f"() => Number.isFinite(({filled})())")
    age_after = await screen.page.evaluate(now) - await screen.page.evaluate(filled)
    assert age_after > age_before * 0.9
