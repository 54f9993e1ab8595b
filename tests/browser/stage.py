"""A simulated fleet and a console, each a process of its own, and a browser that has entered by the launch link."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from playwright.async_api import Browser, BrowserContext, async_playwright

from api.compose import children
from api.compose.announce import fleet_of
from api.compose.demo import COMMANDS_MODULE, Demonstration, write_configuration
from api.compose.exercise_client import ExerciseClient

if TYPE_CHECKING:
    from pathlib import Path

    from api.compose.children import Child

START_WITHIN_SECONDS = 60.0
BROWSER_ARGUMENTS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass(frozen=True, slots=True)
class Stage:
    """What runs: the console's process and address, the link into it, and a hand on the world."""

    console: Child
    link: str
    origin: str
    exercise: ExerciseClient


@asynccontextmanager
async def running(scenario: str, folder: Path) -> AsyncIterator[Stage]:
    """Run virtual receivers of a scenario and a console for them."""
    simulator = await children.start("simulator", COMMANDS_MODULE, ("simulate", scenario, "--seed", "1"))
    try:
        fleet = await fleet_of(simulator, START_WITHIN_SECONDS)
        configuration = write_configuration(folder, fleet.devices)
        console, link = await Demonstration(fleet, configuration, None).start_console()
        try:
            async with ExerciseClient(fleet.exercise_url, fleet.exercise_token) as exercise:
                yield Stage(console, link, link.split("/#", maxsplit=1)[0], exercise)
        finally:
            await console.stop()
    finally:
        await simulator.stop()


@asynccontextmanager
async def silent(stage: Stage, device_id: str) -> AsyncIterator[None]:
    """A receiver that neither answers nor reports, until the end of the block."""
    await stage.exercise.call("silence", device_id=device_id)
    try:
        yield
    finally:
        await stage.exercise.call("speak", device_id=device_id)


@asynccontextmanager
async def asleep(stage: Stage, pack: str) -> AsyncIterator[None]:
    """A pack that somebody put to sleep by hand, until the end of the block."""
    await stage.exercise.call("turn_panel", address=pack, changes={"standby": True})
    try:
        yield
    finally:
        await stage.exercise.call("turn_panel", address=pack, changes={"standby": False})


@asynccontextmanager
async def chromium() -> AsyncIterator[Browser]:
    """A real Chromium, the one whose path stands in REDPOLL_CHROMIUM."""
    path = os.environ.get("REDPOLL_CHROMIUM")
    if not path:
        raise RuntimeError("REDPOLL_CHROMIUM names no browser: run the tests by `./dev test`, which finds one")
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=path, args=[*BROWSER_ARGUMENTS])
        try:
            yield browser
        finally:
            await browser.close()


async def entered(browser: Browser, stage: Stage) -> BrowserContext:
    """A context whose cookie was got by the launch link."""
    context = await browser.new_context(viewport={"width": 1920, "height": 1080}, color_scheme="dark")
    page = await context.new_page()
    await page.goto(stage.link)
    await page.locator("redpoll-row").first.wait_for(timeout=START_WITHIN_SECONDS * 1000)
    await page.close()
    return context
