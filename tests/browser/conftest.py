"""The stage that all browser tests share, and a page for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest_asyncio

from tests.browser.screen import Screen, open_screen
from tests.browser.stage import Stage, chromium, entered, running

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from playwright.async_api import Browser, BrowserContext
    from pytest import TempPathFactory  # noqa: PT013 - the class, for a type alone.


@pytest_asyncio.fixture(scope="session", loop_scope="session")
async def browser() -> AsyncIterator[Browser]:
    """One browser for all."""
    async with chromium() as one:
        yield one


@pytest_asyncio.fixture(scope="session", loop_scope="session")
async def stage(tmp_path_factory: TempPathFactory) -> AsyncIterator[Stage]:
    """The demonstration production on its virtual receivers."""
    async with running("tern-rock", tmp_path_factory.mktemp("stage")) as one:
        yield one


@pytest_asyncio.fixture(scope="session", loop_scope="session")
async def context(browser: Browser, stage: Stage) -> AsyncIterator[BrowserContext]:
    """A browser that has entered."""
    one = await entered(browser, stage)
    yield one
    await one.close()


@pytest_asyncio.fixture(loop_scope="session")
async def screen(context: BrowserContext, stage: Stage) -> AsyncIterator[Screen]:
    """A page of its own; in the end nothing may have been complained of."""
    one = await open_screen(context, stage.origin)
    yield one
    await one.page.close()
    assert one.complaints == []
