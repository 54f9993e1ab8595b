"""Names are only text: whatever a receiver calls itself, the screen shows it and runs nothing of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.async_api import expect

from tests.promises.hostile_names import NAMES
from tests.promises.promise import TIER, Tier

if TYPE_CHECKING:
    from tests.browser.screen import Screen
    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

CHANNEL = "house-1/channel/1"


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
