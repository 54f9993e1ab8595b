"""Durable events a second, one by one and in groups, beside the disk's own floor in the same run.

The floor is one append of a page and one fdatasync; below it, for comparison, a page that is written over, as a log
that has reached its size is. Rounds of each take turns, so that a busy disk is busy for all. The first round warms up
and doesn't count. The events are made beforehand.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import time
from collections.abc import Awaitable, Callable
from io import FileIO
from pathlib import Path

from fleet.journal.writer import InlineWriter, JournalWriter, Writer
from tests.journal.samples import notice, numbered

ROUNDS = 5
COMMITS = 60
GROUP = 100
FLOOR = "fdatasync, appended page"
PAGE = bytes(4_096)
WARM_UP = 1


class Journal:
    """A writer and the next sequence number."""

    def __init__(self, writer: JournalWriter) -> None:
        self.writer = writer
        self.next = 1

    async def round(self, count: int) -> float:
        """Seconds for so many commits of so many events."""
        starts = range(self.next, self.next + COMMITS * count, count)
        groups = [numbered(start, *(notice(number) for number in range(count))) for start in starts]
        self.next = starts.stop
        began_s = time.perf_counter()
        for group in groups:
            await self.writer.commit(group)
        return time.perf_counter() - began_s


async def write_pages(file: FileIO, *, over: bool) -> float:
    """Seconds for so many pages, each made durable by itself."""
    began_s = time.perf_counter()
    for number in range(COMMITS):
        if over:
            file.seek(number * len(PAGE))
        file.write(PAGE)
        os.fdatasync(file.fileno())
    return time.perf_counter() - began_s


async def measure(folder: Path) -> dict[str, list[float]]:
    inline = Journal(InlineWriter(f"sqlite:///{folder / 'inline.sqlite3'}"))
    threaded = Journal(Writer(f"sqlite:///{folder / 'threaded.sqlite3'}"))
    with (folder / "floor").open("wb", buffering=0) as floor, (folder / "over").open("wb", buffering=0) as over:
        await write_pages(over, over=True)
        ways: dict[str, tuple[Callable[[], Awaitable[float]], int]] = {
            FLOOR: (lambda: write_pages(floor, over=False), 1),
            "fdatasync, written over": (lambda: write_pages(over, over=True), 1),
            "single, inline": (lambda: inline.round(1), 1),
            "single, in a thread": (lambda: threaded.round(1), 1),
            f"groups of {GROUP}, in a thread": (lambda: threaded.round(GROUP), GROUP),
        }
        found: dict[str, list[float]] = {name: [] for name in ways}
        await inline.writer.open()
        await threaded.writer.open()
        for _ in range(WARM_UP + ROUNDS):
            for name, (timed, events) in ways.items():
                found[name].append(events * COMMITS / await timed())
        await inline.writer.close()
        await threaded.writer.close()
    return {name: rates[WARM_UP:] for name, rates in found.items()}


def test_durable_events(tmp_path: Path) -> None:
    found = asyncio.run(measure(tmp_path))
    floor = statistics.median(found[FLOOR])
    print(f"\ndurable events, SQLite with synchronous FULL; medians of {ROUNDS} rounds of {COMMITS} commits")
    print(f"{'written as':<30}{'events/s':>12}{'of the floor':>14}")
    for name, rates in found.items():
        median = statistics.median(rates)
        print(f"{name:<30}{median:>12,.0f}{median / floor:>14.2f}")
    assert all(rates for rates in found.values())
