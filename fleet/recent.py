"""The recent past of each channel on the strand's axis: median, worst, damage, speech, reports, deaf branches.

A pyramid of time bins: level k has bins of 0.1·2^k s, 256 of them, ten levels, so that the coarsest reaches back three
and a half hours. A bin is closed from finer ones when time has passed it. Near now the axis is fine and reads fine
levels, far back it is coarse and reads coarse ones. Rows are those of the channels' live table.

The median of a bin is the exact median of its samples up to 0.8 s, above that the median of eight medians three levels
down: the remedian of Rousseeuw and Bassett (1990) to base 8, in memory that doesn't grow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.moment import Moment
from fleet.readings import LiveTables
from fleet.recent_axis import BIN_US, BINS, LEVELS, NO_BIN, Numbers, bins_of_cells
from fleet.recent_bins import DAMAGE_WHOLE, PLANES, WHOLE, Planes, empty, levels_dbm, median, merged, tenths
from fleet.recent_sample import Sample, Sampler
from fleet.row_map import RowMap

HELD_BINS = 5
"""So many bins that a late tick left out are filled with its sample: half a second late is no gap in reports."""
SETTLE_AFTER_BINS = 32
"""How often coarser bins are made, in finest ones; far less than the finest level keeps."""
_REMEDIAN_LEVELS = 3
_ROWS_AT_FIRST = 32


@dataclass(frozen=True, slots=True)
class RecentCells:
    """The recent past on the axis, each plane shaped [row, cell]; cell 0 is now.

    Levels are in dBm, NaN for absent. ``damage`` is the most that was, ``speech`` and ``reported`` are shares of time,
    0 to 1; ``deaf`` has a bit for each branch in the order of the description, and bit 7 while the pack sleeps.
    """

    median_dbm: NDArray[np.float32]
    worst_dbm: NDArray[np.float32]
    damage: NDArray[np.float32]
    speech: NDArray[np.float32]
    reported: NDArray[np.float32]
    deaf: NDArray[np.uint8]


class RecentPast:
    """More than two hours of each channel: 26 kB a row, whatever happens."""

    def __init__(self) -> None:
        self._planes = empty((LEVELS, BINS, 0))
        self._number = np.full((LEVELS, BINS), NO_BIN, dtype=np.int64)
        self._newest = NO_BIN
        self._settled = 0
        self._rows = 0
        self._sampler = Sampler()

    def feed(self, at: Moment, tables: LiveTables, rows: RowMap) -> None:
        """Take what the tables hold into the bin of that moment; to be called on every tick."""
        sample = self._sampler.sample(tables, rows)
        self._grow(sample.level_dbm.size)
        bins = _bins_of(sample)
        number = at.monotonic_us // BIN_US
        if number <= self._newest:
            self._add_to_newest(bins)
            return
        if self._newest == NO_BIN:
            self._settled = number
        late = self._newest != NO_BIN and number - self._newest <= HELD_BINS
        if not late or number - self._settled >= SETTLE_AFTER_BINS:
            self._settle(number)
        first = self._newest + 1 if late else number
        for each in range(first, number + 1):
            self._write(0, each, bins)
        self._newest = number

    def _add_to_newest(self, bins: Planes) -> None:
        """A second tick within one bin: the worst of both stays."""
        slot = self._newest % BINS
        bins.worst = np.minimum(bins.worst, self._planes.worst[0, slot, : self._rows])
        bins.damage = np.maximum(bins.damage, self._planes.damage[0, slot, : self._rows])
        self._write(0, self._newest, bins)

    def _settle(self, number: int) -> None:
        """Close, level by level, the bins that end before the finest bin of that number: many at once is cheap."""
        for level in range(1, LEVELS):
            first = self._settled >> level
            end = min(number >> level, (self._newest >> level) + 1)
            if first < end:
                self._close(level, np.arange(first, end))
        self._settled = number

    def _close(self, level: int, numbers: Numbers) -> None:
        """Make bins from the two below each, their median from up to eight further down."""
        depth = min(level, _REMEDIAN_LEVELS)
        below = self._gather(level - 1, 2 * numbers + np.arange(2)[:, np.newaxis])
        further = self._gather(level - depth, (numbers << depth) + np.arange(1 << depth)[:, np.newaxis])
        bins = merged(below, np.array(2))
        bins.median = median(further.median)
        self._write(level, numbers, bins)

    def _write(self, level: int, numbers: int | Numbers, bins: Planes) -> None:
        slots = numbers % BINS
        self._number[level, slots] = numbers
        for name in PLANES:
            getattr(self._planes, name)[level, slots, : self._rows] = getattr(bins, name)

    def _gather(self, level: int | Numbers, numbers: Numbers) -> Planes:
        """The bins of those numbers, shaped [*numbers, row]; where there is none, or none any more, it is empty."""
        slots = numbers % BINS
        there = (self._number[level, slots] == numbers) & (numbers != NO_BIN)
        gathered = empty((*numbers.shape, self._rows))
        for name in PLANES:
            kept = getattr(self._planes, name)[level, slots, : self._rows]
            np.copyto(getattr(gathered, name), kept, where=there[..., np.newaxis])
        return gathered

    def _grow(self, rows: int) -> None:
        capacity = self._planes.median.shape[-1]
        if rows > capacity:
            more = empty((LEVELS, BINS, max(rows - capacity, capacity, _ROWS_AT_FIRST)))
            joined = (np.concatenate([getattr(self._planes, name), getattr(more, name)], axis=-1) for name in PLANES)
            self._planes = Planes(*joined)
        self._rows = max(self._rows, rows)

    def on_axis(self, at: Moment, cells: int) -> RecentCells:
        """The recent past at that moment, in so many cells of the axis (see ``axis_edges_s``).

        Raises ValueError when there are too few or too many cells.
        """
        self._settle(max(self._newest + 1, at.monotonic_us // BIN_US))
        levels, numbers = bins_of_cells(self._now_us(at), cells)
        bins = merged(self._gather(levels.T, numbers.T), (numbers != NO_BIN).sum(axis=1, keepdims=True))
        return RecentCells(
            median_dbm=levels_dbm(bins.median.T),
            worst_dbm=levels_dbm(bins.worst.T),
            damage=bins.damage.T.astype(np.float32) / np.float32(DAMAGE_WHOLE),
            speech=bins.speech.T.astype(np.float32) / np.float32(WHOLE),
            reported=bins.reported.T.astype(np.float32) / np.float32(WHOLE),
            deaf=bins.deaf.T,
        )

    def _now_us(self, at: Moment) -> int:
        """The end of the newest bin while ticks come; so the cell at now is never empty between two of them."""
        late = at.monotonic_us // BIN_US - self._newest
        return (self._newest + 1) * BIN_US if late <= 1 else at.monotonic_us


def _bins_of(sample: Sample) -> Planes:
    return Planes(
        median=tenths(sample.level_dbm),
        worst=tenths(sample.worst_dbm),
        damage=np.ceil(sample.damage_fraction * DAMAGE_WHOLE).astype(np.uint8),
        speech=(sample.speaks * WHOLE).astype(np.uint16),
        reported=(sample.reports * WHOLE).astype(np.uint16),
        deaf=sample.deaf_bits,
    )
