"""Measures of cells and sleep against the evening, by what the packs themselves report.

Without a running order, and before it begins, nothing says how long cells must last; then the minutes left count alone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.rules.sight import Sampled, Sight, good_cells, rounded, sampled_as


def short_minutes(sight: Sight) -> Sampled:
    """How many minutes of the evening a pack's cells won't last, by its own reckoning; less than 0 where they will."""
    table = sight.tables[Place.PACK]
    return sampled_as(table, "battery_minutes", sight.rows.show.needed_min - table.good("battery_minutes"))


def unplanned_minutes(sight: Sight) -> Sampled:
    """The minutes that a pack's cells have left, where nothing says how long they must last."""
    table = sight.tables[Place.PACK]
    planned = np.isfinite(sight.rows.show.needed_min)
    return sampled_as(table, "battery_minutes", np.where(planned, np.nan, table.good("battery_minutes")))


def cell_evidence(sight: Sight, row: int) -> dict[str, float]:
    """The minutes that a pack has left and those that the running order needs of it."""
    needed = rounded({"needed_min": float(sight.rows.show.needed_min[row])})
    return good_cells(sight.tables[Place.PACK], row, "battery_minutes") | needed


def wake_overdue_s(sight: Sight) -> Sampled:
    """For how long a pack should have been awake and hasn't said so; less than 0 where nothing is due."""
    table = sight.tables[Place.PACK]
    overdue: NDArray[np.float64] = sight.rows.show.wake_overdue_s
    none = np.zeros(len(table), dtype=np.bool_)
    now = np.full(len(table), sight.at_us, dtype=np.int64)
    return Sampled(overdue, now, np.full(len(table), np.iinfo(np.int64).max // 4), none)


def wake_evidence(sight: Sight, row: int) -> dict[str, float]:
    """For how long the wake has been due."""
    return rounded({"wake_overdue_s": round(float(sight.rows.show.wake_overdue_s[row]), 1)})
