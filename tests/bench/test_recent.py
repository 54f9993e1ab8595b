"""The recent past of many channels on the axis of a screen: how long a new screen holds the loop up.

Beside a bare copy of as many bytes in the same run. Nothing is asserted of a time.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fleet.feed_frames import RECENT_CELLS, Stamp, encode_recent
from fleet.model.address import Place
from fleet.model.moment import Moment
from fleet.model.quality import Quality
from fleet.readings import Cells, LiveTable, LiveTables, Written
from fleet.recent import RecentPast
from fleet.row_map import map_rows
from fleet.topology import build_topology
from tests.bench.ingest_device import description
from tests.small_fleet import produce

DEVICES = 500
TICKS = 600
ROUNDS = 7
SEED = 3


def fill(table: LiveTable, name: str, levels_dbm: NDArray[np.float64], at_us: int) -> None:
    rows = len(table)
    cells = Cells(np.full(rows, table.column_of[name]), np.arange(rows))
    good = np.full(rows, Quality.GOOD, dtype=np.uint8)
    table.write(cells, Written(levels_dbm, good, np.full(rows, at_us), np.full(rows, 100_000)))


def filled() -> tuple[RecentPast, Moment]:
    """A minute of 1,000 channels."""
    names = [f"rack-{number}" for number in range(DEVICES)]
    topology = build_topology({name: description(name) for name in names}, produce(*names))
    tables = LiveTables()
    tables.append((place, address) for address, place in topology.place_of.items())
    rows, recent, at = map_rows(topology, tables), RecentPast(), Moment(10**9, 10**9)
    luck = np.random.default_rng(SEED)
    branches = tables[Place.BRANCH]
    for _ in range(TICKS):
        at = at.later(0.1)
        fill(branches, "rf_dbm", luck.uniform(-90.0, -30.0, len(branches)), at.monotonic_us)
        recent.feed(at, tables, rows)
    return recent, at


def processor_ms(act: Callable[[], object]) -> float:
    """The median of some rounds."""
    spent = []
    for _ in range(ROUNDS):
        began = time.process_time()
        act()
        spent.append(1e3 * (time.process_time() - began))
    return statistics.median(spent)


def test_recent_past() -> None:
    recent, at = filled()
    cells = recent.on_axis(at, RECENT_CELLS)
    encoded = encode_recent(Stamp(1, 1, at), cells)
    costs = {
        "bare copy of the bytes": processor_ms(lambda: bytearray(encoded)),
        "onto the axis": processor_ms(lambda: recent.on_axis(at, RECENT_CELLS)),
        "into bytes": processor_ms(lambda: encode_recent(Stamp(1, 1, at), cells)),
    }
    rows = cells.median_dbm.shape[0]
    print(f"\nrecent past of {rows} channels in {RECENT_CELLS} cells, {len(encoded):,} bytes, seed {SEED}")
    for name, cost in costs.items():
        print(f"  {name:<24}{cost:>8.2f} ms")
    assert rows == 2 * DEVICES
