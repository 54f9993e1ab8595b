"""Measures of the antenna inputs of a carrier against each other and against their own noise floors."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.quality import Quality
from fleet.readings import NEVER_US, LiveTable
from fleet.row_map import NO_ROW, RowMap, gather
from fleet.rules.sight import Sampled, Sight, good_cell, good_cells, rounded, sampled_as

MAY_COME_BACK_US = 5_000_000
"""For so long a branch that fell silent may be the better one still; common practice, as for gaps in reports."""
AT_ITS_FLOOR_DB = 6.0
"""A level so little above its own floor is none; common practice."""
FLOOR_FELL_DB = 6.0
"""A floor so far below that of the other branch is the receiver's own, not the site's; common practice."""


def better_branch_margin_db(sight: Sight) -> Sampled:
    """How far the better branch of each carrier stands above its own noise floor, in decibels.

    For five seconds after a branch fell silent the other's margin is only a lower bound, since the silent one may be
    the better. After that, and where a branch has no reading or a bad one, the other counts alone: an alarm too many
    does less harm than a link that fails unseen.
    """
    branch, of_carrier = sight.tables[Place.BRANCH], sight.rows.branch_rows[Place.CARRIER]
    margins = gather(_margins_db(branch), of_carrier, np.nan)
    column = branch.column_of["rf_dbm"]
    sampled = gather(branch.updated_us[column], of_carrier, NEVER_US)
    intervals = gather(branch.interval_us[column], of_carrier, 0)
    missing = np.isnan(margins)
    return Sampled(
        values=np.fmax.reduce(margins, axis=1, initial=np.nan),
        sampled_us=np.where(missing, NEVER_US, sampled).max(axis=1, initial=NEVER_US),
        window_us=2 * intervals.max(axis=1, initial=0),
        at_least=np.logical_or.reduce(missing & _may_come_back(sight, of_carrier), axis=1),
    )


def _margins_db(branch: LiveTable) -> NDArray[np.float64]:
    return branch.good("rf_dbm") - branch.good("floor_dbm")


def _may_come_back(sight: Sight, of_carrier: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which branches of each carrier only paused: known a moment ago, and not known to be bad."""
    branch = sight.tables[Place.BRANCH]
    paused = np.zeros(len(branch), dtype=np.bool_)
    for name in ("rf_dbm", "floor_dbm"):
        column = branch.column_of[name]
        recent = sight.at_us - branch.updated_us[column] <= MAY_COME_BACK_US
        paused |= recent & (branch.qualities[column] == Quality.UNCERTAIN)
    return gather(paused, of_carrier, False)


def margin_evidence(sight: Sight, row: int) -> dict[str, float]:
    """The margin, level and floor of a carrier's better branch."""
    table = sight.tables[Place.BRANCH]
    branches = [int(branch) for branch in sight.rows.branch_rows[Place.CARRIER][row]]
    read = [(good_cell(table, "rf_dbm", branch), good_cell(table, "floor_dbm", branch)) for branch in branches]
    margins = [(level - floor, level, floor) for level, floor in read if math.isfinite(level - floor)]
    if not margins:
        return {}
    margin_db, level_dbm, floor_dbm = max(margins)
    evidence = {
        "better_branch_margin_db": margin_db,
        "better_branch_rf_dbm": level_dbm,
        "better_branch_floor_dbm": floor_dbm,
    }
    return {name: round(value, 1) for name, value in evidence.items()}


def deafness_db(sight: Sight) -> Sampled:
    """How much less a branch hears than the best branch of its carrier where the room can't be the reason, in decibels.

    Levels are smoothed over some seconds, so that neither fading nor a turn of the body counts. A branch that hears
    less because its antenna stands further away stands above the same site floor all the same: that is 0. One whose
    level lies at its own floor, or whose floor fell below that of the other, hears too little of everything.
    """
    table = sight.tables[Place.BRANCH]
    level_dbm, floor_dbm = sight.windows.level_dbm.values, table.good("floor_dbm")
    best_level, best_floor = (_best_of_carrier(sight.rows, values) for values in (level_dbm, floor_dbm))
    at_its_floor = level_dbm - floor_dbm < AT_ITS_FLOOR_DB
    floor_fell = best_floor - floor_dbm > FLOOR_FELL_DB
    behind_db = np.where(at_its_floor | floor_fell, best_level - level_dbm, 0.0)
    known = np.isfinite(level_dbm) & np.isfinite(floor_dbm)
    return sampled_as(table, "rf_dbm", np.where(known, behind_db, np.nan))


def _best_of_carrier(rows: RowMap, values: NDArray[np.float64]) -> NDArray[np.float64]:
    """For each branch the greatest value among the branches of its carrier."""
    of_carrier = rows.branch_rows[Place.CARRIER]
    best = np.fmax.reduce(gather(values, of_carrier, np.nan), axis=1, initial=np.nan)
    spread = np.full(len(values), np.nan)
    there = of_carrier != NO_ROW
    spread[of_carrier[there]] = np.broadcast_to(best[:, np.newaxis], of_carrier.shape)[there]
    return spread


def deafness_evidence(sight: Sight, row: int) -> dict[str, float]:
    """How far behind the branch is, its level and floor, and what its feed draws where that is known."""
    table = sight.tables[Place.BRANCH]
    behind_db = float(deafness_db(sight).values[row])
    level_dbm = float(sight.windows.level_dbm.values[row])
    own = rounded({"deafness_db": round(behind_db, 1), "rf_dbm": round(level_dbm, 1)})
    return own | good_cells(table, row, "floor_dbm", "feed_ma")
