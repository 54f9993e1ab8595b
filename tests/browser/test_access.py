"""Accessibility by axe-core, an independent checker, in both themes and at three sizes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.async_api import expect

from tests.browser.stage import silent

if TYPE_CHECKING:
    from playwright.async_api import Page

    from tests.browser.screen import Screen
    from tests.browser.stage import Stage

pytestmark = [pytest.mark.browser, pytest.mark.asyncio(loop_scope="session")]

AXE = Path(__file__).parents[2] / "ui" / "node_modules" / "axe-core" / "axe.min.js"
WCAG = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
ALL = (*WCAG, "best-practice")
LOOKS = [(1920, 1080, "dark"), (1366, 768, "light"), (390, 844, "dark"), (390, 844, "light")]


async def violations(page: Page, rules: tuple[str, ...] = ALL) -> list[str]:
    """What axe finds wrong, one line each."""
    await page.evaluate(AXE.read_text(encoding="utf-8"))
    found: dict[str, Any] = await page.evaluate("(rules) => axe.run(document, { runOnly: rules })", list(rules))
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found["violations"]]


@pytest.mark.parametrize(("width", "height", "theme"), LOOKS)
async def test_the_watch_with_an_open_row_is_clean(screen: Screen, width: int, height: int, theme: str) -> None:
    """Everything that is drawn, the opened detail too."""
    await screen.page.emulate_media(color_scheme="light" if theme == "light" else "dark")
    await screen.page.reload()
    await screen.page.set_viewport_size({"width": width, "height": height})
    await screen.page.locator("redpoll-row").first.wait_for()
    await screen.open_row("house-1/channel/1")
    await expect(screen.page.locator("html")).to_have_attribute("data-theme", theme)
    assert await violations(screen.page) == []


async def test_troubles_are_clean_too(screen: Screen, stage: Stage) -> None:
    """Slots, brackets, marks, and rows without report."""
    async with silent(stage, "camera-1"):
        await expect(screen.page.locator("redpoll-strip .slot")).to_have_count(1)
        assert await violations(screen.page) == []
    await screen.page.locator("redpoll-strip .slot").focus()
    await screen.page.keyboard.press("a")
    await expect(screen.page.locator("redpoll-strip .slot")).to_have_count(0)


async def test_the_gallery_is_clean(screen: Screen, stage: Stage) -> None:
    """Every element in every state. Best practices are for whole screens: here each landmark stands several times."""
    await screen.page.goto(f"{stage.origin}/ui/gallery/index.html")
    await screen.page.locator("redpoll-gallery redpoll-row").first.wait_for()
    assert await violations(screen.page, WCAG) == []
