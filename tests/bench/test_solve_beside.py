"""How late the live tick comes while a thousand carriers are searched for beside it, and while nothing is.

One console with its receivers in a process of their own, as on one machine: first alone, then with a search, then with
as many as may run at once, and last with the same search in a thread of the console, which is what is not done. The
machine's own cores are printed, for with fewer of them than there are processes everybody waits for turns. Nothing is
asserted of a time.
"""

from __future__ import annotations

import asyncio
import os
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import uvloop

from fleet.adapters.adapter import Adapter, Sink, Transport
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import SystemClock
from fleet.config import DeviceAddress
from fleet.jobs import AT_ONCE_MAXIMUM
from fleet.model.job import Job
from fleet.model.plan import Search
from fleet.planning.coordination.reading import request_of_values
from fleet.planning.coordination.search import search
from fleet.runtime import Plan, Runtime
from tests.bench.test_whole_console import Child
from tests.bench.whole_console import Greeted, opened

CLOCK = SystemClock()
DEVICES, ZONES = 12, 20
SETTLE_S, SECONDS, TIMER_S = 5.0, 15.0, 0.01
REQUEST: dict[str, Any] = {
    "raster_hz": 25_000,
    "window": [{"start_hz": 470_000_000, "stop_hz": 694_000_000}],
    "profile": [
        {
            "name": "analog",
            "spacing_hz": 400_000,
            "third_two_signal_hz": 100_000,
            "third_three_signal_hz": 50_000,
        },
        {"name": "digital", "spacing_hz": 400_000},
    ],
    "group": [
        {"name": f"Zone {zone}", "zone": f"Zone {zone}", "profile": ("analog", "digital")[zone % 2], "count": 50}
        for zone in range(ZONES)
    ],
    "isolation": [{"zones": [f"Zone {a}", f"Zone {b}"]} for a in range(ZONES) for b in range(a)],
}


@dataclass(frozen=True, slots=True)
class Lags:
    """How late things came, in milliseconds: the live ticks, and a timer of 10 ms on the same loop."""

    how: str
    ticks_ms: Sequence[float]
    timer_ms: Sequence[float]


async def lags(runtime: Runtime, how: str) -> Lags:
    """Watch the console's own ticks and a timer for some seconds."""
    ticks_ms: list[float] = []
    timer_ms: list[float] = []
    seen = runtime.vitals().ticks
    end_us = CLOCK.monotonic_us() + round(SECONDS * 1e6)
    while (began_us := CLOCK.monotonic_us()) < end_us:
        await CLOCK.sleep(TIMER_S)
        timer_ms.append((CLOCK.monotonic_us() - began_us) / 1e3 - 1e3 * TIMER_S)
        vitals = runtime.vitals()
        if vitals.ticks != seen:
            seen = vitals.ticks
            ticks_ms.append(1e3 * vitals.loop_lag_s)
    return Lags(how, ticks_ms, timer_ms)


async def started(port: int, folder: str) -> Runtime:
    def make_adapter(device: DeviceAddress, sink: Sink) -> Adapter:
        async def way(_url: str) -> Transport:
            return Greeted(await opened(port), device.device_id)

        return OpenJsonAdapter(device, way, CLOCK, sink)

    def make_contacts(sink: Sink) -> Supervisor:
        return Supervisor(CLOCK, np.random.default_rng(1), sink, make_adapter)

    listed = tuple(DeviceAddress(f"rack-{number}", f"ws://127.0.0.1:{port}") for number in range(DEVICES))
    url = f"sqlite:///{Path(folder) / 'journal.sqlite3'}"
    return await Runtime.start(Plan(url, make_contacts, "bench", listed), CLOCK)


async def begin_search(runtime: Runtime, name: str) -> Job:
    await runtime.plans.put("Bench", name, {"title": name, "request": REQUEST}, None)
    return await runtime.plans.find("Bench", name, Search(1, 3_600.0))


async def in_a_thread(runtime: Runtime) -> Lags:
    """The same search in the console's own process."""
    over = threading.Event()
    request = request_of_values(REQUEST, "bench")
    searching = asyncio.create_task(asyncio.to_thread(search, request, 1, lambda _: over.is_set()))
    found = await lags(runtime, "one in a thread of the console")
    over.set()
    await searching
    return found


async def measured() -> tuple[list[Lags], list[Job]]:
    receivers = Child("paced_devices")
    found, jobs = [], []
    try:
        with tempfile.TemporaryDirectory() as folder:
            runtime = await started(await asyncio.to_thread(receivers.hear), folder)
            await CLOCK.sleep(SETTLE_S)
            found.append(await lags(runtime, "alone"))
            for number in range(AT_ONCE_MAXIMUM):
                begun = await begin_search(runtime, f"night-{number}")
                await CLOCK.sleep(SETTLE_S)
                found.append(await lags(runtime, f"{number + 1} in a process"))
                jobs.append(runtime.jobs.job(begun.job_id))
            for job in jobs:
                await runtime.jobs.stop(job.job_id)
            found.append(await in_a_thread(runtime))
            await runtime.stop()
    finally:
        await asyncio.to_thread(receivers.end)
    return found, jobs


def row(found: Lags, alone: Lags) -> str:
    cells = f"{found.how:<32}"
    for late, base in ((found.ticks_ms, alone.ticks_ms), (found.timer_ms, alone.timer_ms)):
        p50, p99, most = np.quantile(late, (0.5, 0.99, 1.0))
        cells += f"{p50:>9.2f}{p99:>9.2f}{most:>9.2f}{p99 / np.quantile(base, 0.99):>8.2f}"
    return cells


def test_solve_beside() -> None:
    found, jobs = uvloop.run(measured())
    print(f"\n{DEVICES} receivers of two channels at 10 Hz, {SECONDS:g} s each, {os.cpu_count()} cores")
    print(f"{'searches of 1,000 carriers':<32}{'tick p50':>9}{'p99':>9}{'most ms':>9}{'ratio':>8}", end="")
    print(f"{'10ms p50':>9}{'p99':>9}{'most ms':>9}{'ratio':>8}")
    for each in found:
        print(row(each, found[0]))
    for job in jobs:
        print(f"{job.subject}: {job.words}, {job.seconds:.0f} s")
    assert all(job.best is not None for job in jobs), "they searched all the while"
