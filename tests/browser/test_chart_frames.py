"""How quickly the lanes are drawn: a thousand carriers while somebody zooms, beside one box as large."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from playwright.async_api import expect

if TYPE_CHECKING:
    from tests.browser.screen import Screen
    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

FRAMES = 60
MASTS = {"evening": 24 + 3, "festival": 1_000 + 3}
_ZOOM = """async ({ frames, zooms }) => {
  const chart = document.querySelector("redpoll-shell").shadowRoot.querySelector("redpoll-chart");
  const lanes = chart.shadowRoot.querySelector("redpoll-lanes");
  const plot = lanes.shadowRoot.querySelector(".plot");
  const { left, width, top } = plot.getBoundingClientRect();
  const shown = { frames: [], paints: [], masts: lanes.facts.masts.length };
  const context = lanes.shadowRoot.querySelector("canvas").getContext("2d");
  let began = 0, ended = 0;
  for (const name of ["fill", "fillRect"]) {
    const paint = context[name].bind(context);
    context[name] = (...box) => { began ||= performance.now(); paint(...box); ended = performance.now(); };
  }
  let before = await new Promise(requestAnimationFrame);
  for (let frame = 0; frame < frames; frame += 1) {
    began = 0;
    const deltaY = frame < frames / 2 ? -60 : 60;
    const at = { clientX: left + width * 0.4, clientY: top + 60, bubbles: true, cancelable: true };
    if (zooms) plot.dispatchEvent(new WheelEvent("wheel", { deltaY, ...at }));
    else {
      context.fillStyle = frame % 2 === 0 ? "#202020" : "#303030";
      context.fillRect(0, 0, width, 10_000);
    }
    const now = await new Promise(requestAnimationFrame);
    await new Promise((done) => setTimeout(done));
    shown.frames.push(now - before);
    if (began !== 0) shown.paints.push(ended - began);
    before = now;
  }
  delete context.fill;
  delete context.fillRect;
  return shown;
}"""


def spread(times_ms: list[float]) -> str:
    """Median and 95th percentile."""
    ordered = sorted(times_ms)
    return f"{ordered[len(ordered) // 2]:6.1f} {ordered[int(len(ordered) * 0.95)]:6.1f}"


async def test_a_thousand_carriers_are_drawn_with_every_frame_of_a_zoom(screen: Screen, stage: Stage) -> None:
    """Each frame in which somebody zooms is painted once, whole, and none is skipped."""
    await screen.page.goto(f"{stage.origin}/ui/gallery/heed.html?plans#chart")
    head = screen.page.locator("redpoll-chart redpoll-plan-head")
    rows: list[tuple[str, dict[str, Any]]] = []
    for name, masts in MASTS.items():
        await head.locator("select").select_option(name)
        await expect(head).to_contain_text("stand")
        await screen.page.wait_for_function(
            """(masts) => document.querySelector("redpoll-shell").shadowRoot.querySelector("redpoll-chart").shadowRoot
               .querySelector("redpoll-lanes")?.facts?.masts.length === masts""",
            arg=masts,
        )
        if not rows:
            rows.append(("one box as large", await screen.page.evaluate(_ZOOM, {"frames": FRAMES, "zooms": False})))
        shown = await screen.page.evaluate(_ZOOM, {"frames": FRAMES, "zooms": True})
        assert shown["masts"] == masts
        assert len(shown["paints"]) == FRAMES
        rows.append((f"{masts} masts", shown))
    print("\nlanes while zooming   frame ms p50 p95    painting ms p50 p95")
    for words, shown in rows:
        print(f"{words:20} {spread(shown['frames'])}    {spread(shown['paints'] or [0.0])}")
