"""Levels put on one step, sweep by sweep, so that no peak is lost; then the greatest and the median of the sweeps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.survey import POINTS_MAXIMUM

_REGULAR_SHARE = 0.9
"""Assumption: where steps differ, this share of them is at most as wide as the one that is taken."""
_ROUNDING_SHARE = 0.05
"""Assumption: steps that differ by less were one step before somebody rounded the frequencies."""

Whole = NDArray[np.int64]
Real = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Grid:
    """Points from ``start_hz`` up. ``told`` says in words what was done to come to the step, empty for nothing."""

    start_hz: int
    step_hz: int
    points: int
    told: str

    @property
    def frequency_hz(self) -> Whole:
        """Every point."""
        return self.start_hz + self.step_hz * np.arange(self.points, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Sweeps:
    """Levels of each point of a grid, those of one point together and in rising order.

    Point ``point[i]`` has ``count[i]`` of them, from ``first[i]`` on, one of each sweep.
    """

    grid: Grid
    point: Whole
    first: Whole
    count: Whole
    level_dbm: Real

    def maximum(self) -> Real:
        """The greatest level at each point of the grid; NaN where nothing was measured."""
        return self._spread(self.level_dbm[self.first + self.count - 1])

    def median(self) -> Real:
        """The median level at each point; NaN where nothing was measured."""
        low, high = self.first + (self.count - 1) // 2, self.first + self.count // 2
        return self._spread((self.level_dbm[low] + self.level_dbm[high]) / 2.0)

    def occupancy(self, threshold_dbm: Real) -> Real:
        """The share of sweeps that stood above a threshold at each point; NaN where nothing was measured."""
        above = self.level_dbm > np.repeat(threshold_dbm[self.point], self.count)
        return self._spread(np.add.reduceat(above, self.first, dtype=np.float64) / self.count)

    def _spread(self, values: Real) -> Real:
        whole = np.full(self.grid.points, np.nan)
        whole[self.point] = values
        return whole


def grid_of(frequency_hz: Whole) -> Grid:
    """The grid for frequencies in any order: their own step where they have one, else one that most steps fit into.

    A step that would need more than POINTS_MAXIMUM points is widened until they are enough.
    """
    different = np.unique(frequency_hz)
    start_hz, span_hz = int(different[0]), int(different[-1] - different[0])
    if different.size == 1:
        return Grid(start_hz, 1, 1, "")
    steps = np.diff(different)
    usual_hz = float(np.median(steps))
    tolerance_hz = max(1.0, _ROUNDING_SHARE * usual_hz)
    regular = bool(np.all(np.abs(steps / usual_hz - np.rint(steps / usual_hz)) * usual_hz <= tolerance_hz))
    exact_hz = usual_hz if regular else float(np.quantile(steps, _REGULAR_SHARE))
    if regular:
        exact_hz = span_hz / round(float(np.sum(np.rint(steps / usual_hz))))
    step_hz = int(np.ceil(exact_hz - 1e-6))
    told = "" if regular else f"steps differ: put on one of {step_hz} Hz, the greatest level kept"
    least_hz = -(-span_hz // (POINTS_MAXIMUM - 1))
    if step_hz < least_hz:
        told = f"{different.size} points are too many: put on a step of {least_hz} Hz, the greatest level kept"
    step_hz = max(step_hz, least_hz)
    return Grid(start_hz, step_hz, (span_hz + step_hz // 2) // step_hz + 1, told)


def put_on(grid: Grid, frequency_hz: Whole, level_dbm: Real, sweep: Whole) -> Sweeps:
    """Levels on the nearest point of a grid; of several that one sweep has there, the greatest."""
    point = (frequency_hz - grid.start_hz + grid.step_hz // 2) // grid.step_hz
    key = sweep * grid.points + point
    order = np.lexsort((level_dbm, key))
    last = np.concatenate([key[order][1:] != key[order][:-1], [True]])
    kept = order[last]
    point, level_dbm = point[kept], level_dbm[kept]
    order = np.lexsort((level_dbm, point))
    point, level_dbm = point[order], level_dbm[order]
    first = np.flatnonzero(np.concatenate([[True], point[1:] != point[:-1]]))
    return Sweeps(grid, point[first], first, np.diff(np.append(first, point.size)), level_dbm)
