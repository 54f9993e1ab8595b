"""Names are only text: whatever a receiver calls itself, the screen shows it and runs nothing of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.promises.promise import TIER, Tier

if TYPE_CHECKING:
    from tests.browser.screen import Screen
    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

CHANNEL = "house-1/channel/1"
NAME_LENGTH_MAXIMUM = 64
STRIKES = (
    "<script>struck=1</script>", "<img src=x onerror=struck=1>", "\"><svg onload=struck=1>", "'onfocus='struck=1",
    "javascript:struck=1", "${struck=1}", "{{struck=1}}", "</style><script>struck=1</script>", "<!--", "]]>", "%00",
    "&lt;script&gt;", "=1+1", "@SUM(A1)", "../../etc/passwd", "'; DROP TABLE events;--", "\\u003cscript\\u003e", "null",
    "__proto__", "constructor", "NaN", "true", "[object Object]", "<iframe srcdoc='<script>top.struck=1</script>'>",
    "<a href=javascript:struck=1>x</a>",
)  # fmt: skip
FRAMES = ("{}", "Tern {}", "{} \u00c6\u00d8\u00c5", "\u05d0\u05d1{}", "{}{}", "<b>{}</b>", "\U0001f99c{}", "`{}`")
NAMES = [frame.format(strike, strike)[:NAME_LENGTH_MAXIMUM] for frame in FRAMES for strike in STRIKES]


async def test_hostile_names_are_shown_and_never_run(screen: Screen, stage: Stage) -> None:
    """Two hundred of them in a soak, every eighth in the tests."""
    chosen = NAMES[:: 8 if TIER is Tier.TEST else 1]
    await screen.open_row(CHANNEL)
    shown = screen.control(CHANNEL, "name").locator("input")
    before = await shown.input_value()
    try:
        for name in chosen:
            await stage.exercise.call("turn_panel", address=CHANNEL, changes={"name": name})
            await expect(shown).to_have_value(name)
            assert await screen.page.evaluate("typeof struck") == "undefined", name
    finally:
        await stage.exercise.call("turn_panel", address=CHANNEL, changes={"name": before})
    assert len(NAMES) == 200
    assert await screen.page.evaluate("document.querySelectorAll('iframe, svg[onload], img[src=x]').length") == 0
