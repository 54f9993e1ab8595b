"""Two scans held against each other: what came, what went, and by how much."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fleet.model.survey import Scan
from fleet.model.survey_found import ScanChange, ScanComparison
from fleet.planning.spectrum.carriers import carriers_of, trace_of
from fleet.planning.spectrum.floor import Floor
from fleet.planning.spectrum.found import floor_of_scan
from fleet.planning.spectrum.gridding import Grid
from fleet.planning.spectrum.scan import array_of, frequencies_of
from fleet.planning.spectrum.stretches import runs

CHANGE_DB = 6.0
"""Assumption: the same signal wavers by less from one scan to the next."""
_GAP_HZ = 100_000

Real = NDArray[np.float64]
Kind = Literal["came", "went", "louder", "quieter"]


def compare(before: Scan, after: Scan) -> ScanComparison:
    """What a later scan shows otherwise than an earlier one, where both have measured.

    Levels are put on the wider of the two steps, the greatest of each kept. Where bandwidths differ noise differs, too,
    so that what comes and goes is told by whether it stands out of each scan's own floor.
    """
    grid = _shared_grid(before, after)
    if grid is None:
        return ScanComparison(
            before.scan_id, after.scan_id, 0, 1, (), (), None, ("the two have no frequency in common",)
        )
    levels = [_greatest(grid, frequencies_of(scan), array_of(scan.maximum_dbm)) for scan in (before, after)]
    standing = [_greatest(grid, frequencies_of(scan), _standing(scan)) > 0.0 for scan in (before, after)]
    difference = np.round(levels[1] - levels[0], 2)
    return ScanComparison(
        before=before.scan_id,
        after=after.scan_id,
        start_hz=grid.start_hz,
        step_hz=grid.step_hz,
        difference_db=tuple(None if np.isnan(each) else each for each in difference.tolist()),
        changes=tuple(_changes(grid, levels, standing)),
        floor_change_db=_floor_change(floor_of_scan(before), floor_of_scan(after), grid),
        words=tuple(_words(before, after)),
    )


def _shared_grid(before: Scan, after: Scan) -> Grid | None:
    step_hz = max(before.step_hz, after.step_hz)
    start_hz, stop_hz = max(before.start_hz, after.start_hz), min(before.stop_hz, after.stop_hz)
    if stop_hz < start_hz:
        return None
    return Grid(start_hz, step_hz, (stop_hz - start_hz) // step_hz + 1, "")


def _greatest(grid: Grid, frequency_hz: NDArray[np.int64], values: Real) -> Real:
    """The greatest value within half a step of each point of a grid; NaN where there is none."""
    point = (frequency_hz - grid.start_hz + grid.step_hz // 2) // grid.step_hz
    known = (point >= 0) & (point < grid.points) & ~np.isnan(values)
    whole = np.full(grid.points, -np.inf)
    np.maximum.at(whole, point[known], values[known])
    return np.where(np.isinf(whole), np.nan, whole)


def _standing(scan: Scan) -> Real:
    """1 where the scan shows a carrier, 0 elsewhere, NaN where it has nothing."""
    floor, marks = floor_of_scan(scan), array_of(scan.maximum_dbm) * 0.0
    if floor is None:
        return marks
    frequencies = frequencies_of(scan)
    for carrier in carriers_of(trace_of(scan, floor, floor.looks)):
        marks[(frequencies >= carrier.start_hz) & (frequencies <= carrier.stop_hz)] += 1.0
    return marks


def _changes(grid: Grid, levels: list[Real], standing: list[NDArray[np.bool_]]) -> list[ScanChange]:
    before, after = levels
    difference = np.nan_to_num(after - before)
    up, down = difference >= CHANGE_DB, difference <= -CHANGE_DB
    kinds: list[tuple[Kind, NDArray[np.bool_]]] = [
        ("came", up & standing[1] & ~standing[0]),
        ("went", down & standing[0] & ~standing[1]),
        ("louder", up & standing[0] & standing[1]),
        ("quieter", down & standing[0] & standing[1]),
    ]
    gap = min(_GAP_HZ // grid.step_hz, 4)
    found = [_change(grid, levels, run, kind) for kind, marked in kinds for run in runs(marked, gap)]
    return sorted(found, key=lambda change: (change.start_hz, change.stop_hz))


def _change(grid: Grid, levels: list[Real], run: slice, kind: Kind) -> ScanChange:
    before_dbm, after_dbm = (round(float(np.nanmax(level[run])), 2) for level in levels)
    start_hz, half_hz = grid.start_hz, grid.step_hz // 2
    return ScanChange(
        start_hz=start_hz + run.start * grid.step_hz - half_hz,
        stop_hz=start_hz + (run.stop - 1) * grid.step_hz + half_hz,
        change=kind,
        before_dbm=before_dbm,
        after_dbm=after_dbm,
        change_db=round(after_dbm - before_dbm, 2),
    )


def _floor_change(before: Floor | None, after: Floor | None, grid: Grid) -> float | None:
    """How much higher the floor lies than before, in the middle of all points of the grid."""
    if before is None or after is None:
        return None
    frequencies = grid.frequency_hz
    return round(float(np.median(after.at(frequencies) - before.at(frequencies))), 1)


def _words(before: Scan, after: Scan) -> list[str]:
    said = []
    if before.bandwidth_hz != after.bandwidth_hz:
        said.append("measured in different bandwidths: floors can't be compared, carriers can")
    if before.step_hz != after.step_hz:
        said.append(f"put on the wider step, {max(before.step_hz, after.step_hz)} Hz")
    if before.place != after.place:
        said.append(f"heard at different places: {before.place} and {after.place}")
    if after.taken_at_utc_us < before.taken_at_utc_us:
        said.append("the second was taken before the first")
    return said
