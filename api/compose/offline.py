"""An evening offline: world, protocol, adapters, pipeline and journal in one process, on virtual time.

The same scenario, seed, minutes and weather give the same journal to the last byte, in any process on any machine.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import hashlib
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from api.compose.virtual_loop import run_on_virtual_time
from api.compose.weather import CLEAR, Weather
from api.compose.weather_link import WeatherLink
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import MICROSECONDS_PER_SECOND, LoopClock, SystemClock
from fleet.errors import InvalidRequest
from fleet.journal.reader import Reader
from fleet.journal.writer import InlineWriter
from fleet.model.event_json import encode_recorded
from fleet.model.production import Production
from fleet.model.production_toml import read_production
from fleet.runtime import Plan, Runtime, Sink
from simulator.evening import open_fleet
from simulator.situation import load_situation, situation_names
from simulator.virtual_fleet import VirtualFleet

# Every evening offline begins at the same moment, 2030-03-17 17:46:40 UTC, so that nothing hangs on today's date.
EVENING_UTC_US = 1_900_000_000_000_000
MINUTES_MAXIMUM = 24 * 60.0
SOFTWARE_VERSION = "offline"
_PAGE = 1_000
_SECONDS_PER_MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class OfflineOrder:
    """What is to be run. Without a ``journal`` it is kept nowhere once it has been counted."""

    scenario: str
    seed: int = 1
    minutes: float = 10.0
    journal: Path | None = None
    weather: Weather = field(default_factory=lambda: CLEAR)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is: simulated seconds of how many, in how many real ones."""

    simulated_s: float
    of_s: float
    real_s: float


@dataclass(frozen=True, slots=True)
class OfflineReport:
    """What a run came to; ``stopped`` before its time it holds what there was until then.

    ``problems`` are steps of a script or situation that could not be done.
    """

    simulated_minutes: float
    times_real_time: float
    stopped: bool
    events: dict[str, int]
    sha256: str
    problems: tuple[str, ...] = ()


def run_offline(order: OfflineOrder, on_progress: Callable[[Progress], None]) -> OfflineReport:
    """Run an evening; being interrupted ends it early with the best so far kept.

    Raises InvalidDocument for a wrong scenario and InvalidRequest for an order that can't be; nothing is begun then.
    """
    _check(order)
    fleet = open_fleet(order.scenario, order.seed)
    strangers = {name for each in order.weather.outages for name in each.devices} - set(fleet.endpoints)
    if strangers:
        raise InvalidRequest(
            f"the weather names {', '.join(sorted(strangers))}; there are {', '.join(fleet.endpoints)}"
        )
    with contextlib.ExitStack() as stack:
        journal = order.journal or Path(stack.enter_context(TemporaryDirectory())) / "journal.sqlite3"
        began_s = _real_s()
        (simulated_s, stopped), complaints = run_on_virtual_time(_evening(order, fleet, journal, on_progress))
        if complaints:
            raise RuntimeError(f"errors that nobody awaited: {'; '.join(complaints)}")
        real_s = _real_s() - began_s
        events, digest = count_events(journal)
    return OfflineReport(
        simulated_s / _SECONDS_PER_MINUTE, simulated_s / real_s, stopped, events, digest, tuple(fleet.problems)
    )


def _real_s() -> float:
    return SystemClock().monotonic_us() / MICROSECONDS_PER_SECOND


def _check(order: OfflineOrder) -> None:
    if not 0.0 < order.minutes <= MINUTES_MAXIMUM:
        raise InvalidRequest(f"minutes are above 0 and at most {MINUTES_MAXIMUM:g}, not {order.minutes:g}")
    if order.journal is not None and order.journal.exists():
        raise InvalidRequest(
            f"{order.journal} is there already: name a file that isn't, for a journal is never overwritten"
        )
    if order.journal is not None and not order.journal.parent.is_dir():
        raise InvalidRequest(f"{order.journal.parent} is no folder: make it first")


def count_events(journal: Path) -> tuple[dict[str, int], str]:
    """How many events of each kind a journal holds, and the SHA-256 of all, canonical JSON a line, in their order."""
    reader, counts, digest, since = Reader(f"sqlite:///{journal}"), Counter[str](), hashlib.sha256(), 0
    try:
        while page := reader.events(since, _PAGE):
            for recorded in page:
                counts[recorded.event.kind] += 1
                digest.update(encode_recorded(recorded) + b"\n")
            since = page[-1].sequence
    finally:
        reader.close()
    return dict(sorted(counts.items())), digest.hexdigest()


async def _evening(
    order: OfflineOrder, fleet: VirtualFleet, journal: Path, on_progress: Callable[[Progress], None]
) -> tuple[float, bool]:
    clock = LoopClock(EVENING_UTC_US)
    link = WeatherLink(fleet, clock, order.weather, order.seed)
    turning = asyncio.create_task(link.run(), name="the world")
    runtime = await Runtime.start(_plan(order, link, journal), clock)
    watching = asyncio.create_task(runtime.failed(), name="watching the console")
    try:
        gc.freeze()
        return await _pass(order, clock, (turning, watching), on_progress)
    finally:
        gc.unfreeze()
        for task in (turning, watching):
            task.cancel()
        await asyncio.gather(turning, watching, return_exceptions=True)
        await runtime.stop()


async def _pass(
    order: OfflineOrder,
    clock: LoopClock,
    parts: tuple[asyncio.Task[None], ...],
    on_progress: Callable[[Progress], None],
) -> tuple[float, bool]:
    """Let the evening go on, a second at a time; whether it was stopped."""
    of_s, began_s = order.minutes * _SECONDS_PER_MINUTE, _real_s()
    passed_s = 0.0
    while passed_s < of_s:
        try:
            await clock.sleep(min(1.0, of_s - passed_s))
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is not None:
                task.uncancel()
            _raise_what_failed(parts)
            return passed_s, True
        _raise_what_failed(parts)
        passed_s = min(passed_s + 1.0, of_s)
        on_progress(Progress(passed_s, of_s, _real_s() - began_s))
    return passed_s, False


def _raise_what_failed(parts: tuple[asyncio.Task[None], ...]) -> None:
    for part in parts:
        if part.done():
            part.result()


def _plan(order: OfflineOrder, link: WeatherLink, journal: Path) -> Plan:
    clock = link.clock

    def make_contacts(sink: Sink) -> Supervisor:
        luck = np.random.default_rng(order.seed)
        return Supervisor(clock, luck, sink, lambda device, heard: OpenJsonAdapter(device, link.connect, clock, heard))

    return Plan(
        database_url=f"sqlite:///{journal}",
        make_contacts=make_contacts,
        software_version=SOFTWARE_VERSION,
        devices=link.addresses(),
        production=production_of(order.scenario),
        make_writer=InlineWriter,
    )


def production_of(scenario: str) -> Production | None:
    """The production that belongs to a scenario, or to a situation's stage: shipped, or beside a scenario's file."""
    if scenario.endswith(".toml"):
        beside = Path(scenario).with_name(f"{Path(scenario).stem}-production.toml")
        return read_production(beside.read_text(encoding="utf-8"), str(beside)) if beside.is_file() else None
    stage = load_situation(scenario).stage if scenario in situation_names() else scenario
    file = f"{stage}-production.toml"
    found = resources.files("api.compose").joinpath(file)
    return read_production(found.read_text(encoding="utf-8"), file) if found.is_file() else None
