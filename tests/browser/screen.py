"""One page of the screen, and everything about it that must never happen."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from playwright.async_api import Locator, expect

if TYPE_CHECKING:
    from playwright.async_api import BrowserContext, ConsoleMessage, Page, Request

WITHIN_MS = 30_000
MINUS = "\u2212"
A_LEVEL = re.compile(f"^{MINUS}?[0-9]+$")
"""A level in dBm as a row shows it, with a true minus."""
expect.set_options(timeout=WITHIN_MS)


@dataclass(slots=True)
class Screen:
    """A page with its complaints: console errors, script errors, requests beyond the origin."""

    page: Page
    origin: str
    complaints: list[str] = field(default_factory=list)

    def row(self, channel: str) -> Locator:
        """The row of a channel."""
        return self.page.locator(f'redpoll-row[data-channel="{channel}"]')

    def control(self, address: str, name: str) -> Locator:
        """The control of a setting in the opened detail."""
        return self.page.locator(f'redpoll-control[data-setting="{address} {name}"]')

    async def open_row(self, channel: str) -> None:
        """Unfold a row by its keys."""
        await self.row(channel).focus()
        await self.page.keyboard.press("Enter")
        await self.page.locator("redpoll-detail").wait_for()

    def watch(self) -> None:
        """Note whatever the page should not do."""
        self.page.on("console", lambda message: self._on_console(message))  # noqa: PLW0108 - Playwright marks bound methods, which slots forbid.
        self.page.on("pageerror", lambda error: self.complaints.append(f"script error: {error}"))
        self.page.on("request", lambda request: self._on_request(request))  # noqa: PLW0108 - As above.

    def _on_console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(f"console {message.type}: {message.text}")

    def _on_request(self, request: Request) -> None:
        if not request.url.startswith(self.origin):
            self.complaints.append(f"request beyond the origin: {request.url}")


async def open_screen(context: BrowserContext, origin: str) -> Screen:
    """A new page of the screen with its rows drawn."""
    page = await context.new_page()
    page.set_default_timeout(WITHIN_MS)
    screen = Screen(page, origin)
    screen.watch()
    await page.goto(origin + "/")
    await page.locator("redpoll-row").first.wait_for()
    return screen
