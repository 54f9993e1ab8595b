"""A scan made of levels: those of a file, or those that a device sent while it scanned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from fleet.errors import InvalidRequest
from fleet.model.act import ScanLevels
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


def scan_of_act(scan_id: str, found: ScanLevels, circumstances: Circumstances) -> Scan:
    """The scan that a device has sent.

    Raises InvalidRequest where it has sent no level.
    """
    stretches = found.stretches
    frequency_hz = [each.start_hz + each.step_hz * np.arange(len(each.levels_dbm)) for each in stretches]
    level_dbm = [np.array(each.levels_dbm, dtype=np.float64) for each in stretches]
    frequencies, levels = np.concatenate([*frequency_hz, []]).astype(np.int64), np.concatenate([*level_dbm, []])
    known = ~np.isnan(levels)
    if not known.any():
        raise InvalidRequest(f"the scan {found.command_id} has brought no levels; start it again")
    words = circumstances.words
    if found.left_out:
        words = _joined(words, f"{found.left_out} levels beyond the bound were not kept")
    bandwidths = {each.bandwidth_hz for each in stretches}
    bandwidth_hz = bandwidths.pop() if len(bandwidths) == 1 else None
    measured = (frequencies[known], levels[known], np.zeros(int(known.sum()), np.int64))
    return _scan(scan_id, replace(circumstances, words=words), bandwidth_hz, measured)


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
