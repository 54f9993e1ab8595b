"""The demonstration: virtual receivers in one process, a console in another, and one link to open."""

from __future__ import annotations

import asyncio
import shutil
import sys
import tempfile
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from api.compose import children
from api.compose.announce import FleetListens, fleet_of, link_in, link_of
from api.compose.check import run_check
from api.compose.children import Child
from api.compose.ending import AskedToEnd, unless_asked_to_end, while_it_runs
from fleet.clock import SystemClock
from fleet.config import DeviceAddress

COMMANDS_MODULE = "api.compose.cli"
SCENARIO = "tern-rock"
_TITLES = {SCENARIO: "The Lamp at Tern Rock", "kitchen-sink": "Kitchen sink, a device of every kind"}
SCENARIOS = tuple(_TITLES)
START_WITHIN_SECONDS = 30.0


@dataclass(frozen=True, slots=True)
class Demonstration:
    """What the demonstration started, and how to start a console again on the same folder."""

    fleet: FleetListens
    configuration: Path
    port: int | None
    scenario: str = SCENARIO

    async def start_console(self) -> tuple[Child, str]:
        """Start a console process; returns it and its launch link."""
        chosen = () if self.port is None else ("--port", str(self.port))
        arguments = ("console", "--config", str(self.configuration), "--announce", "--with-starter", *chosen)
        console = await children.start("console", COMMANDS_MODULE, arguments)
        try:
            return console, await link_of(console, START_WITHIN_SECONDS)
        except BaseException:
            await console.stop()
            raise


async def run_demo(seed: int, port: int | None, state: Path | None, scenario: str = SCENARIO, *, check: bool) -> int:
    """Run one of ``SCENARIOS`` until Ctrl-C, or try everything out and end; returns the exit code.

    A check that is interrupted has not passed.
    """
    try:
        return await unless_asked_to_end(_run(seed, port, state, scenario, check=check))
    except AskedToEnd:
        return 1 if check else 0


async def _run(seed: int, port: int | None, state: Path | None, scenario: str, *, check: bool) -> int:
    async with _folder(state) as folder, _fleet(seed, scenario) as fleet:
        configuration = write_configuration(folder, fleet.devices, scenario)
        demonstration = Demonstration(fleet, configuration, port, scenario)
        if check:
            sys.stdout.write(await run_check(demonstration, SystemClock()) + "\n")
            return 0
        await _show(demonstration, seed)
    return 0


async def _show(demonstration: Demonstration, seed: int) -> None:
    console, link = await demonstration.start_console()
    try:
        _say(_words(demonstration, link, seed))
        await while_it_runs(console, _heed)
    finally:
        await console.stop()


def _heed(line: str) -> None:
    link = link_in(line)
    if link is not None:
        _say(f"\nThe old link has lapsed; a fresh one:\n\n    {link}\n")


def _say(words: str) -> None:
    sys.stdout.write(words)
    sys.stdout.flush()


def _words(demonstration: Demonstration, link: str, seed: int) -> str:
    fleet = demonstration.fleet
    name = _TITLES[demonstration.scenario]
    return f"""
{name}, simulated: {len(fleet.devices)} devices on this machine, luck of seed {seed}.

  Open this link; it works once, within five minutes:

    {link}

  The exercise protocol, for faults on cue: {fleet.exercise_url}
  its token: {fleet.exercise_token}

Ctrl-C ends everything.
"""


@asynccontextmanager
async def _folder(state: Path | None) -> AsyncIterator[Path]:
    """The folder for journal and history: the one that was named, or one that goes with the demonstration."""
    if state is not None:
        await asyncio.to_thread(state.mkdir, parents=True, exist_ok=True)
        yield state
        return
    folder = Path(await asyncio.to_thread(tempfile.mkdtemp, prefix="redpoll-demo-"))
    try:
        yield folder
    finally:
        await asyncio.to_thread(shutil.rmtree, folder)


@asynccontextmanager
async def _fleet(seed: int, scenario: str) -> AsyncIterator[FleetListens]:
    fleet = await children.start(
        "simulator", COMMANDS_MODULE, ("simulate", scenario, "--seed", str(seed), "--with-starter")
    )
    try:
        yield await fleet_of(fleet, START_WITHIN_SECONDS)
    finally:
        await fleet.stop()


def write_configuration(folder: Path, devices: Sequence[DeviceAddress], scenario: str = SCENARIO) -> Path:
    """Write the demonstration's production and the console's configuration; returns the latter's path."""
    production = resources.files("api.compose").joinpath(f"{scenario}-production.toml").read_text(encoding="utf-8")
    (folder / "production.toml").write_text(production, encoding="utf-8")
    tables = "".join(f'\n[[device]]\nid = "{device.device_id}"\nurl = "{device.url}"\n' for device in devices)
    configuration = folder / "console.toml"
    configuration.write_text(
        f'database = "journal.sqlite3"\nproduction = "production.toml"\n{tables}', encoding="utf-8"
    )
    return configuration
