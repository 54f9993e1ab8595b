"""The whole demonstration production on virtual time, beside the time it plays in and beside its world alone.

Processor time for each simulated second, the median of short pieces, so that a busy machine does little harm. Nothing
is asserted of a time.
"""

from __future__ import annotations

import gc
import statistics
import time
from itertools import pairwise
from pathlib import Path

from api.compose.offline import OfflineOrder, run_offline
from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.scenarios.whole_console import SEED, whole_console
from tests.virtual_time import run_virtual

PIECES = 10
PIECE_S = 2.0
BLOCK_US = 100_000


def world_alone() -> list[float]:
    """The simulated world and its receivers, with nobody who listens."""
    fleet = VirtualFleet(load("tern-rock"), SEED)
    blocks = round(PIECE_S * 1_000_000) // BLOCK_US
    found, now_us = [], 0
    for _ in range(PIECES):
        began = time.process_time()
        for _ in range(blocks):
            now_us += BLOCK_US
            fleet.advance(now_us)
        found.append(time.process_time() - began)
    return found


async def whole(database: Path) -> list[float]:
    """World, protocol, adapters, pipeline, journal, feed, and a screen at 10 Hz that takes its frames apart."""
    found = []
    async with whole_console(database) as console:
        gc.collect()
        gc.freeze()  # As the console does once it has started.
        for _ in range(PIECES):
            began = time.process_time()
            await console.pass_time(PIECE_S)
            found.append(time.process_time() - began)
        gc.unfreeze()
    return found


def offline() -> list[float]:
    """The same without feed, API and screen, as `redpoll offline` runs it."""
    marks = [time.process_time()]
    run_offline(OfflineOrder("tern-rock", SEED, PIECES * PIECE_S / 60.0), lambda _: marks.append(time.process_time()))
    seconds = [after - before for before, after in pairwise(marks[1:])]
    return [PIECE_S * each for each in seconds][-PIECES:]


def test_offline(tmp_path: Path) -> None:
    found = {
        "the world alone": world_alone(),
        "redpoll offline": offline(),
        "the whole, watched": run_virtual(whole(tmp_path / "journal.sqlite3")),
    }
    print(f"\nthe demonstration production on virtual time, medians of {PIECES} pieces of {PIECE_S:g} s, seed {SEED}")
    print(f"{'what runs':<20}{'CPU ms/tick':>12}{'times real time':>17}")
    for name, pieces in found.items():
        median_s = statistics.median(pieces)
        print(f"{name:<20}{1e3 * median_s * BLOCK_US / 1e6 / PIECE_S:>12.2f}{PIECE_S / median_s:>17.1f}")
    assert all(len(pieces) == PIECES for pieces in found.values())
