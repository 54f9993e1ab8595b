"""The recent past against numpy over every sample that was ever given, and against the axis by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.moment import Moment
from fleet.model.quality import Quality
from fleet.readings import Cells, LiveTables, Written
from fleet.recent import RecentPast
from fleet.recent_axis import BINS, LEVELS, axis_edges_s, bins_of_cells
from fleet.recent_bins import ABSENT, median
from fleet.row_map import map_rows
from fleet.topology import build_topology
from tests.small_fleet import describe, produce

Samples = dict[str, NDArray[np.float64]]
CELLS = 512


class Rig:
    """One receiver whose readings are set by hand."""

    def __init__(self, start_us: int = 0) -> None:
        topology = build_topology({"quay-1": describe("quay-1")}, produce("quay-1"))
        self.tables = LiveTables()
        self.tables.append((place, address) for address, place in topology.place_of.items())
        self.rows = map_rows(topology, self.tables)
        self.recent = RecentPast()
        self.now_us = start_us

    def put(self, place: Place, name: str, values: list[float]) -> None:
        table = self.tables[place]
        count = len(values)
        cells = Cells(np.full(count, table.column_of[name]), np.arange(count))
        good = np.where(np.isnan(values), Quality.ABSENT, Quality.GOOD).astype(np.uint8)
        times = np.full(count, self.now_us)
        table.write(cells, Written(np.array(values), good, times, np.full(count, 100_000)))

    def tick(self, a_dbm: float, b_dbm: float = -80.0, damage: float = 0.0, rms_dbfs: float = -60.0) -> None:
        self.put(Place.BRANCH, "rf_dbm", [a_dbm, b_dbm, -70.0, -70.0])
        self.put(Place.BRANCH, "rf_min_dbm", [a_dbm - 5.0, b_dbm - 5.0, -75.0, -75.0])
        self.put(Place.CHANNEL, "audio_damage_fraction", [damage, 0.0])
        self.put(Place.CHANNEL, "rms_dbfs", [rms_dbfs, -60.0])
        self.recent.feed(Moment(self.now_us, self.now_us), self.tables, self.rows)
        self.now_us += 100_000

    @property
    def at(self) -> Moment:
        return Moment(self.now_us - 1, self.now_us - 1)


def test_the_axis_is_the_agreed_one() -> None:
    edges = axis_edges_s(CELLS)
    # U = ln(1 + 7200/5) = ln 1441 = 7.27309…; the middle of the axis is 5·(sqrt 1441 - 1) = 184.80 s, by hand.
    assert edges[0] == 0.0
    assert edges[256] == pytest.approx(5.0 * (1441.0**0.5 - 1.0))
    assert edges[-1] == pytest.approx(7_200.0)
    for wrong in (0, 15, 4_097):
        with pytest.raises(ValueError, match="16 to 4096 cells"):
            axis_edges_s(wrong)


@pytest.mark.parametrize("cells", [16, 100, 512, 4_096])
@pytest.mark.parametrize("now_us", [100_000, 3_600_000_000, 86_400_000_000 + 300_000])
def test_every_cell_reads_bins_that_are_closed_and_still_kept(cells: int, now_us: int) -> None:
    levels, numbers = bins_of_cells(now_us, cells)
    width_us = 100_000 << levels
    begins, ends = numbers * width_us, (numbers + 1) * width_us
    used = numbers >= 0
    assert (ends[used] <= now_us).all()
    oldest_kept = (now_us // width_us - BINS) * width_us
    assert (begins >= oldest_kept)[used].all()
    if now_us > 7_200_000_000:
        assert used.any(axis=1).all()


@pytest.mark.parametrize("cells", [16, 512])
def test_bins_of_a_cell_lie_in_it_within_one_bin(cells: int) -> None:
    now_us = 90_000_000_000
    levels, numbers = bins_of_cells(now_us, cells)
    edges_us = axis_edges_s(cells) * 1e6
    width_us = (100_000 << levels).astype(np.float64)
    for cell in range(cells):
        own = numbers[cell][numbers[cell] >= 0]
        newest_age = now_us - (own.max() + 1) * width_us[cell, 0]
        oldest_age = now_us - own.min() * width_us[cell, 0]
        assert newest_age >= edges_us[cell] - width_us[cell, 0]
        assert oldest_age <= max(edges_us[cell + 1], edges_us[cell] + width_us[cell, 0]) + 1


def test_the_median_is_numpys() -> None:
    generator = np.random.default_rng(5)
    levels = generator.integers(-1_000, 0, (200, 8)).astype(np.int16)
    levels[generator.random(levels.shape) < 0.4] = ABSENT
    for row in levels:
        present = row[row != ABSENT].astype(np.float64)
        expected = ABSENT if present.size == 0 else int(np.floor(np.median(present)))
        assert median(row) == expected


def test_a_constant_past_is_constant_at_every_age() -> None:
    rig = Rig()
    for _ in range(9_000):
        rig.tick(-60.0, -72.0)
    cells = rig.recent.on_axis(rig.at, CELLS)
    covered = axis_edges_s(CELLS)[1:] < 850.0
    assert (cells.median_dbm[0, covered] == -60.0).all()
    assert (cells.worst_dbm[0, covered] == -65.0).all()
    assert (cells.reported[0, covered] == 1.0).all()
    assert (cells.reported[0, axis_edges_s(CELLS)[:-1] > 960.0] == 0.0).all()
    assert np.isnan(cells.median_dbm[0, -1])
    assert not cells.deaf.any()


def test_two_hours_are_kept() -> None:
    rig = Rig()
    for _ in range(1_500):
        rig.tick(-60.0)
        rig.now_us += 4_900_000
    cells = rig.recent.on_axis(rig.at, 64)
    old = axis_edges_s(64)[:-1] > 60.0
    assert (cells.median_dbm[0, old] == -60.0).all()
    assert cells.reported[0, -1] == pytest.approx(0.02, abs=0.005)


def test_worst_damage_and_speech_are_those_of_all_samples() -> None:
    seed = 11
    print(f"seed {seed}")
    generator = np.random.default_rng(seed)
    rig = Rig(start_us=12_345_600_000)
    count = 6_000
    level = -60.0 + 6.0 * generator.standard_normal(count)
    damage = np.where(generator.random(count) < 0.0005, 1.0, 0.0)
    speaks = generator.random(count) < 0.3
    for a_dbm, share, spoken in zip(level, damage, speaks, strict=True):
        rig.tick(a_dbm, -120.0, share, -20.0 if spoken else -60.0)
    cells = rig.recent.on_axis(rig.at, 64)
    levels, numbers = bins_of_cells(rig.now_us, 64)
    first = 12_345_600_000 // 100_000
    newest_first = axis_edges_s(64)
    for cell in range(int(np.searchsorted(newest_first, 590.0)) - 1):
        own = numbers[cell][numbers[cell] >= 0]
        begin = int(own.min() << levels[cell, 0]) - first
        end = int((own.max() + 1) << levels[cell, 0]) - first
        part = slice(begin, end)
        assert cells.worst_dbm[0, cell] == pytest.approx(level[part].min() - 5.0, abs=0.051)
        assert cells.damage[0, cell] == damage[part].max()
        assert cells.speech[0, cell] == pytest.approx(speaks[part].mean(), abs=0.001)
        assert cells.reported[0, cell] == 1.0
        # A remedian of base 8 is near the true median; its spread is that of fewer samples (Rousseeuw & Bassett).
        sigma = 6.0 * 1.2533 / np.sqrt(end - begin)
        assert cells.median_dbm[0, cell] == pytest.approx(np.median(level[part]), abs=4.0 * sigma + 0.1)


def test_up_to_eight_samples_the_median_is_exact() -> None:
    rig = Rig()
    generator = np.random.default_rng(3)
    level = np.round(generator.uniform(-90.0, -30.0, 256), 1)
    for a_dbm in level:
        rig.tick(a_dbm, -120.0)
    # Ages of some seconds read bins of one or two samples at 512 cells.
    levels, numbers = bins_of_cells(rig.now_us, CELLS)
    cells = rig.recent.on_axis(rig.at, CELLS)
    for cell in np.flatnonzero(axis_edges_s(CELLS)[1:] < 20.0):
        own = numbers[cell][numbers[cell] >= 0]
        if own.size != 1 or levels[cell, 0] > 3:
            continue
        part = level[int(own[0]) << int(levels[cell, 0]) :][: 1 << int(levels[cell, 0])]
        assert cells.median_dbm[0, cell] == pytest.approx(np.median(part), abs=0.0501)


def test_a_gap_in_reports_is_seen_and_one_late_tick_is_not() -> None:
    rig = Rig()
    for _ in range(100):
        rig.tick(-60.0)
    rig.now_us += 300_000
    for _ in range(100):
        rig.tick(-60.0)
    assert (rig.recent.on_axis(rig.at, CELLS).reported[0, axis_edges_s(CELLS)[1:] < 19.0] == 1.0).all()
    rig.now_us += 10_000_000
    for _ in range(50):
        rig.tick(-60.0)
    edges = axis_edges_s(CELLS)
    reported = rig.recent.on_axis(rig.at, CELLS).reported[0]
    assert (reported[edges[1:] < 4.9] == 1.0).all()
    assert (reported[(edges[:-1] > 5.5) & (edges[1:] < 14.5)] == 0.0).all()
    assert (reported[(edges[:-1] > 16.0) & (edges[1:] < 34.0)] == 1.0).all()


def test_absent_levels_are_no_report() -> None:
    rig = Rig()
    for _ in range(20):
        rig.tick(float("nan"), float("nan"))
    cells = rig.recent.on_axis(rig.at, CELLS)
    assert np.isnan(cells.median_dbm[0]).all()
    assert not cells.reported[0].any()
    assert cells.reported[1, 0] == 1.0


def test_without_ticks_the_past_moves_on() -> None:
    rig = Rig()
    for _ in range(50):
        rig.tick(-60.0)
    later = Moment(rig.now_us + 60_000_000, 0)
    edges = axis_edges_s(CELLS)
    reported = rig.recent.on_axis(later, CELLS).reported[0]
    assert not reported[edges[1:] < 60.0].any()
    assert reported[(edges[:-1] > 60.5) & (edges[1:] < 64.5)].all()


def test_a_bin_that_a_stall_left_unfinished_is_read_all_the_same() -> None:
    rig = Rig()
    for _ in range(47):
        rig.tick(-60.0)
    later = Moment(rig.now_us + 60_000_000, 0)
    # 60.7 s ago begins the bin of 0.8 s from 4.0 s on, of which seven eighths were reported.
    cell = int(np.searchsorted(axis_edges_s(CELLS), 60.7)) - 1
    assert rig.recent.on_axis(later, CELLS).reported[0, cell] == pytest.approx(7 / 8, abs=0.001)


def test_a_deaf_branch_is_one_far_below_for_a_second() -> None:
    rig = Rig()
    for _ in range(9):
        rig.tick(-60.0, -85.0)
    assert not rig.recent.on_axis(rig.at, CELLS).deaf.any()
    rig.tick(-60.0, -85.0)
    assert rig.recent.on_axis(rig.at, CELLS).deaf[0, 0] == 0b10
    rig.tick(-60.0, -79.0)
    assert rig.recent.on_axis(rig.at, CELLS).deaf[0, 0] == 0
    for _ in range(10):
        rig.tick(-95.0, -70.0)
    assert rig.recent.on_axis(rig.at, CELLS).deaf[0, 0] == 0b01


def test_a_second_tick_in_one_bin_keeps_the_worst() -> None:
    rig = Rig()
    rig.tick(-90.0, -120.0, damage=0.5)
    rig.now_us -= 100_000
    rig.tick(-60.0, -120.0)
    cells = rig.recent.on_axis(rig.at, CELLS)
    assert (cells.worst_dbm[0, 0], cells.median_dbm[0, 0]) == (-95.0, -60.0)
    assert cells.damage[0, 0] == pytest.approx(0.5, abs=1 / 255)


def test_memory_is_bounded() -> None:
    rig = Rig()
    for _ in range(10):
        rig.tick(-60.0)
    planes = rig.recent._planes
    size = sum(getattr(planes, name).nbytes for name in ("median", "worst", "damage", "speech", "reported", "deaf"))
    rows = planes.median.shape[-1]
    assert size == rows * LEVELS * BINS * 10
    assert size / rows < 26_000


def test_a_planned_sleep_is_marked_and_is_no_damage() -> None:
    rig = Rig()
    rig.put(Place.PACK, "asleep", [1.0, 0.0])
    for _ in range(30):
        rig.tick(-105.0, -105.0, damage=1.0)
    past = rig.recent.on_axis(rig.at, CELLS)
    assert past.deaf[0, :8].tolist() == [128] * 8
    assert past.damage[0].max() == 0.0
    assert past.deaf[1, :8].tolist() == [0] * 8
