"""Durable events a second, one by one and in groups, beside the disk's own floor in the same run.

The floor is one append of a page and one fdatasync. Rounds of each take turns, so that a busy disk is busy for all.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

from fleet.journal.writer import InlineWriter, JournalWriter, Writer
from tests.journal.samples import notice, numbered

ROUNDS = 5
COMMITS = 60
GROUP = 100
PAGE = bytes(4_096)


class Journal:
    """A writer and the next sequence number."""

    def __init__(self, writer: JournalWriter) -> None:
        self.writer = writer
        self.next = 1

    async def commit(self, count: int) -> None:
        await self.writer.commit(numbered(self.next, *(notice(number) for number in range(count))))
        self.next += count


async def per_second(once: Callable[[], Awaitable[None]], events: int) -> float:
    began_s = time.perf_counter()
    for _ in range(COMMITS):
        await once()
    return events * COMMITS / (time.perf_counter() - began_s)


async def measure(folder: Path) -> dict[str, list[float]]:
    inline = Journal(InlineWriter(f"sqlite:///{folder / 'inline.sqlite3'}"))
    threaded = Journal(Writer(f"sqlite:///{folder / 'threaded.sqlite3'}"))
    with (folder / "floor").open("wb", buffering=0) as file:

        async def floor() -> None:
            file.write(PAGE)
            os.fdatasync(file.fileno())

        ways: dict[str, tuple[Callable[[], Awaitable[None]], int]] = {
            "fdatasync of a page": (floor, 1),
            "single, inline": (lambda: inline.commit(1), 1),
            "single, in a thread": (lambda: threaded.commit(1), 1),
            f"groups of {GROUP}, in a thread": (lambda: threaded.commit(GROUP), GROUP),
        }
        found: dict[str, list[float]] = {name: [] for name in ways}
        await inline.writer.open()
        await threaded.writer.open()
        for _ in range(ROUNDS):
            for name, (once, events) in ways.items():
                found[name].append(await per_second(once, events))
        await inline.writer.close()
        await threaded.writer.close()
    return found


def test_durable_events(tmp_path: Path) -> None:
    found = asyncio.run(measure(tmp_path))
    floor = statistics.median(found["fdatasync of a page"])
    print(f"\ndurable events, SQLite with synchronous FULL; medians of {ROUNDS} rounds of {COMMITS} commits")
    print(f"{'written as':<30}{'events/s':>12}{'of the floor':>14}")
    for name, rates in found.items():
        median = statistics.median(rates)
        print(f"{name:<30}{median:>12,.0f}{median / floor:>14.2f}")
    assert all(rates for rates in found.values())
