"""A scan made of levels: those of a file, or those that a device sent while it scanned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from fleet.errors import InvalidRequest
from fleet.model.act import LevelStretch, ScanLevels
from fleet.model.survey import Circumstances, Levels, Scan
from fleet.planning.spectrum.floor import ABOVE_FLOOR_DB, floor_of
from fleet.planning.spectrum.gridding import grid_of, put_on
from fleet.planning.spectrum.levels_file import FileLevels, read_levels

Whole = NDArray[np.int64]
Real = NDArray[np.float64]


def scan_of_file(
    scan_id: str,
    file: BinaryIO,
    circumstances: Circumstances,
    bandwidth_hz: int | None = None,
    should_stop: Callable[[int], bool] = lambda _: False,
) -> tuple[Scan, FileLevels] | None:
    """The scan that an open text file holds, and how it was understood; None when ``should_stop`` said so.

    Raises InvalidDocument with the line and what was expected there.
    """
    read = read_levels(file, circumstances.file, should_stop)
    if read is None:
        return None
    levels = (read.frequency_hz, read.level_dbm, read.sweep)
    return _scan(scan_id, circumstances, bandwidth_hz, levels), read


def scan_of_acts(scan_id: str, found: Sequence[ScanLevels], circumstances: Circumstances) -> Scan:
    """The scan that a device has sent; of several acts each is a sweep of it.

    Raises InvalidRequest where one has brought no level.
    """
    measured = [(sweep, each) for sweep, act in enumerate(found) for each in act.stretches]
    frequencies = np.concatenate([_of_stretch(each) for _, each in measured] or [np.zeros(0, np.int64)])
    levels = np.concatenate([np.array(each.levels_dbm, dtype=np.float64) for _, each in measured] or [np.zeros(0)])
    sweeps = np.repeat([sweep for sweep, _ in measured], [len(each.levels_dbm) for _, each in measured]).astype(int)
    known = ~np.isnan(levels)
    for sweep, act in enumerate(found):
        if not np.any(known & (sweeps == sweep)):
            raise InvalidRequest(f"the scan {act.command_id} has brought no levels; start it again")
    about = _with_stretches(circumstances, [each for _, each in measured])
    words = about.words
    left_out = sum(act.left_out for act in found)
    if left_out:
        words = _joined(words, f"{left_out} levels beyond the bound were not kept")
    bandwidths = {each.bandwidth_hz for _, each in measured}
    bandwidth_hz = bandwidths.pop() if len(bandwidths) == 1 else None
    kept = (frequencies[known], levels[known], sweeps[known])
    return _scan(scan_id, replace(about, words=words), bandwidth_hz, kept)


def _with_stretches(about: Circumstances, stretches: Sequence[LevelStretch]) -> Circumstances:
    """The circumstances with what stretches say of themselves: the one branch that listened, and if it is calibrated.

    Where several branches listened each point has the greatest level of them, and it is said.
    """
    branches = sorted({each.branch for each in stretches} - {""})
    words = f"heard by {' and '.join(branches)}, the greatest level kept" if len(branches) > 1 else ""
    return replace(
        about,
        instrument=branches[0] if len(branches) == 1 else about.instrument,
        calibrated=all(each.calibrated for each in stretches),
        words=_joined(about.words, words),
    )


def _of_stretch(stretch: LevelStretch) -> Whole:
    return stretch.start_hz + stretch.step_hz * np.arange(len(stretch.levels_dbm), dtype=np.int64)


def array_of(levels: Levels) -> Real:
    """Levels of a scan as an array, NaN for None."""
    return np.array(levels, dtype=np.float64)


def frequencies_of(scan: Scan) -> Whole:
    """The frequency of every point of a scan."""
    return scan.start_hz + scan.step_hz * np.arange(len(scan.maximum_dbm), dtype=np.int64)


def _scan(scan_id: str, about: Circumstances, bandwidth_hz: int | None, measured: tuple[Whole, Real, Whole]) -> Scan:
    frequency_hz, level_dbm, sweep = measured
    sweeps = put_on(grid_of(frequency_hz), frequency_hz, level_dbm, sweep)
    grid, median = sweeps.grid, sweeps.median()
    count = int(sweeps.count.max())
    floor = floor_of(grid.frequency_hz, median, int(np.median(sweeps.count)))
    threshold_dbm = np.full(grid.points, np.inf) if floor is None else floor.at(grid.frequency_hz) + ABOVE_FLOOR_DB
    return Scan(
        scan_id=scan_id,
        place=about.place,
        taken_at_utc_us=about.taken_at_utc_us,
        instrument=about.instrument,
        source=about.source,
        file=about.file,
        simulated=about.simulated,
        calibrated=about.calibrated,
        bandwidth_hz=bandwidth_hz,
        sweeps=count,
        words=_joined(about.words, grid.told),
        start_hz=grid.start_hz,
        step_hz=grid.step_hz,
        maximum_dbm=_levels(sweeps.maximum(), 2),
        median_dbm=_levels(median, 2),
        occupancy=_levels(sweeps.occupancy(threshold_dbm), 3),
    )


def _levels(values: Real, decimals: int) -> Levels:
    rounded = np.round(values, decimals).tolist()
    return tuple(None if value != value else value for value in rounded)  # noqa: PLR0124 - NaN alone differs from itself.


def _joined(words: str, more: str) -> str:
    return "; ".join(part for part in (words, more) if part)
