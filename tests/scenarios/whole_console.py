"""The demonstration production whole, in one process: world, protocol, adapters, pipeline, journal, feed, API."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from starlette.types import ASGIApp

from api.answers import PersonView
from api.app import create_app
from api.compose.memory_link import MemoryLink
from api.desk import Desk
from api.door import loopback_only
from api.roles import Role, roles_up_to
from api.security import Launches, Sessions
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import LoopClock
from fleet.journal.writer import InlineWriter
from fleet.model.production import Production
from fleet.model.production_toml import read_production
from fleet.model.quality import Quality
from fleet.runtime import Plan, Runtime, Sink
from simulator import faults
from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.api.conftest import COOKIE, PORT
from tests.api.people_in_memory import accounts_in_memory
from tests.api.websocket_driver import Client, connected
from tests.screen_frames import ScreenFrame, parse_frame
from tests.virtual_time import run_virtual

EVENING_UTC_US = 1_900_000_000_000_000
SETTLE_S = 3.0
SEED = 11


@dataclass
class Screen:
    """What a screen was told: its snapshot, every event in order, the latest matters and the latest frames."""

    snapshot: dict[str, Any] = field(default_factory=dict)
    events: list[dict[str, Any]] = field(default_factory=list)
    matters: list[dict[str, Any]] = field(default_factory=list)
    frames: dict[int, ScreenFrame] = field(default_factory=dict)
    recent: bytes = b""

    async def follow(self, client: Client) -> None:
        """Take in everything until cancelled."""
        while True:
            message = await client.hear()
            if message["type"] == "websocket.accept":
                continue
            if message.get("text"):
                self._take(json.loads(message["text"]))
            elif message["bytes"][0] == 2:
                self.recent = message["bytes"]
            else:
                frame = parse_frame(message["bytes"])
                self.frames[frame.table] = frame

    def _take(self, body: dict[str, Any]) -> None:
        match body["type"]:
            case "snapshot":
                self.snapshot = body["snapshot"]
                self.matters = body["snapshot"]["matters"]
            case "events":
                self.events.extend(body["events"])
            case "matters":
                self.matters = body["matters"]
            case _:
                return

    def alarm_states(self, alarm_id: str) -> list[str]:
        """The states one alarm went through."""
        changes = [event["alarm"] for event in self.events if event["kind"] == "alarm changed"]
        return [alarm["state"] for alarm in changes if alarm["alarm_id"] == alarm_id]

    def alarms_of(self, rule_id: str) -> list[dict[str, Any]]:
        """Every change of an alarm of that rule."""
        changes = [event["alarm"] for event in self.events if event["kind"] == "alarm changed"]
        return [alarm for alarm in changes if alarm["rule_id"] == rule_id]

    def reading(self, table: int, address: str, name: str) -> tuple[float, Quality]:
        """The value and quality of one reading as last shown."""
        view = self.snapshot["tables"][table]
        column = [column["name"] for column in view["columns"]].index(name)
        return self.frames[table].value(column, view["rows"].index(address))


@dataclass
class WholeConsole:
    """A console with its simulated fleet, and one screen that follows it."""

    runtime: Runtime
    fleet: VirtualFleet
    link: MemoryLink
    app: ASGIApp
    screen: Screen

    async def pass_time(self, seconds: float) -> None:
        """Let the evening go on."""
        await LoopClock(0).sleep(seconds)

    def fault(self, method: str, **params: object) -> dict[str, object]:
        """Do something to the world, as the exercise protocol would."""
        shape, act = faults.ACTS[method]
        return act(self.fleet, shape(**params), self.link.now_us)


def production_of(scenario: str) -> Production:
    """The production that belongs to a scenario."""
    file = f"{scenario}-production.toml"
    return read_production(resources.files("api.compose").joinpath(file).read_text(encoding="utf-8"), file)


@asynccontextmanager
async def whole_console(
    database: Path, *, seed: int = SEED, link: MemoryLink | None = None, scenario: str = "tern-rock"
) -> AsyncIterator[WholeConsole]:
    """Start everything, wait until it has settled, and end it; with a ``link`` that turns, the console alone."""
    clock = LoopClock(EVENING_UTC_US)
    turning = None
    if link is None:
        link = MemoryLink(VirtualFleet(load(scenario), seed), clock)
        turning = asyncio.create_task(link.run())
    fleet = link.fleet

    def make_contacts(sink: Sink) -> Supervisor:
        luck = np.random.default_rng(seed)
        return Supervisor(clock, luck, sink, lambda device, heard: OpenJsonAdapter(device, link.connect, clock, heard))

    plan = Plan(
        database_url=f"sqlite:///{database}",
        make_contacts=make_contacts,
        software_version="test",
        devices=link.addresses(),
        production=production_of(scenario),
        make_writer=InlineWriter,
    )
    runtime = await Runtime.start(plan, clock)
    sessions = Sessions(clock)
    desk = Desk(runtime, sessions, Launches(clock), clock, COOKIE, "test", accounts_in_memory(clock, sessions))
    app = create_app(desk, loopback_only(PORT), screen=Path("no-such-folder"))
    secret, _ = desk.sessions.open(PersonView("Stage Left", roles_up_to(Role.ENGINEER)))
    screen = Screen()
    try:
        await clock.sleep(SETTLE_S)
        async with connected(app, secret) as client:
            client.say({"type": "subscribe", "rate_hz": 10, "since": None, "form": "binary"})
            following = asyncio.create_task(screen.follow(client))
            await clock.sleep(SETTLE_S)
            yield WholeConsole(runtime, fleet, link, app, screen)
            await _end(following)
    finally:
        await runtime.stop()
        if turning is not None:
            await _end(turning)


async def _end(task: asyncio.Task[None]) -> None:
    task.cancel()
    with suppress(asyncio.CancelledError):
        await task


def evening(
    test: Callable[[WholeConsole], Coroutine[Any, Any, None]], scenario: str = "tern-rock"
) -> Callable[[Path], None]:
    """Run a test on virtual time with a whole console."""

    async def whole(database: Path) -> None:
        async with whole_console(database, scenario=scenario) as console:
            await test(console)

    def run(tmp_path: Path) -> None:
        run_virtual(whole(tmp_path / "journal.sqlite3"))

    run.__name__ = test.__name__
    run.__doc__ = test.__doc__
    return run


Act = Callable[[WholeConsole], Coroutine[Any, Any, None]]


def restarted(folder: Path, before: Act, after: Act, scenario: str = "tern-rock") -> None:
    """Run two consoles one after the other over the same world and the same journal."""

    async def both() -> None:
        clock = LoopClock(EVENING_UTC_US)
        link = MemoryLink(VirtualFleet(load(scenario), SEED), clock)
        turning = asyncio.create_task(link.run())
        for act in (before, after):
            async with whole_console(folder / "journal.sqlite3", link=link, scenario=scenario) as console:
                await act(console)
        await _end(turning)

    run_virtual(both())
