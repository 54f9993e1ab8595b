"""What measures look at, and the shape of what they say."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.quality import Quality
from fleet.readings import NEVER_US, LiveTable, LiveTables
from fleet.row_map import NO_ROW, RowMap
from fleet.rules.windows import Windows


@dataclass(frozen=True, slots=True)
class Sight:
    """Everything a measure may look at: the live tables as of a tick, the wiring, and windows over the last seconds."""

    at_us: int
    tables: LiveTables
    rows: RowMap
    windows: Windows


@dataclass(frozen=True, slots=True)
class Sampled:
    """One measure over the rows of its place, or several stacked.

    ``window_us`` is the time that one sample may speak for: two intervals of the reading. Where ``at_least`` is set the
    value is only a lower bound.
    """

    values: NDArray[np.float64]
    sampled_us: NDArray[np.int64]
    window_us: NDArray[np.int64]
    at_least: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Measure:
    """A measure by name. ``evidence`` gives, for one row, the measured values behind it, units last."""

    name: str
    place: Place
    sample: Callable[[Sight], Sampled]
    evidence: Callable[[Sight, int], dict[str, float]]


def stack(samples: Sequence[Sampled], width: int) -> Sampled:
    """Measures of several places one below the other, shaped [measure, row], never sampled beyond their own rows."""
    shape = (len(samples), width)
    stacked = Sampled(
        np.full(shape, np.nan), np.full(shape, NEVER_US), np.zeros(shape, np.int64), np.zeros(shape, np.bool_)
    )
    for index, sample in enumerate(samples):
        rows = len(sample.values)
        stacked.values[index, :rows] = sample.values
        stacked.sampled_us[index, :rows] = sample.sampled_us
        stacked.window_us[index, :rows] = sample.window_us
        stacked.at_least[index, :rows] = sample.at_least
    return stacked


def sampled_as(table: LiveTable, name: str, values: NDArray[np.float64]) -> Sampled:
    """Values that are as new as one reading of their table."""
    column = table.column_of[name]
    none = np.zeros(len(table), dtype=np.bool_)
    return Sampled(values, table.updated_us[column], 2 * table.interval_us[column], none)


def good_cell(table: LiveTable, name: str, row: int) -> float:
    """One reading of one row, NaN when it isn't good."""
    column = table.column_of[name]
    good = row != NO_ROW and table.qualities[column, row] == Quality.GOOD
    return float(table.values[column, row]) if good else float("nan")


def good_cells(table: LiveTable, row: int, *names: str) -> dict[str, float]:
    """Those readings of one row that are good, by name."""
    values = {name: good_cell(table, name, row) for name in names}
    return rounded(values)


def rounded(values: dict[str, float]) -> dict[str, float]:
    """The finite values, to three decimals."""
    return {name: round(value, 3) for name, value in values.items() if math.isfinite(value)}
