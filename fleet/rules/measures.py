"""Measures that rules may name: whole columns derived from the live tables.

A measure gives a value for each row of its place, NaN where it can't be known, and when it was sampled, so that a delay
counts reported time and not the age of the last report.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.quality import Quality
from fleet.readings import NEVER_US, LiveTable, LiveTables
from fleet.row_map import NO_ROW, RowMap, gather


@dataclass(frozen=True, slots=True)
class Sampled:
    """One measure over the rows of its place.

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
    sample: Callable[[LiveTables, RowMap], Sampled]
    evidence: Callable[[LiveTables, RowMap, int], dict[str, float]]


def better_branch_margin_db(tables: LiveTables, rows: RowMap) -> Sampled:
    """How far the better branch of each carrier stands above its own noise floor, in decibels.

    While a branch is missing the other's margin is only a lower bound: the missing one may be the better.
    """
    branch, of_carrier = tables[Place.BRANCH], rows.branch_rows[Place.CARRIER]
    margins = gather(branch.good("rf_dbm") - branch.good("floor_dbm"), of_carrier, np.nan)
    column = branch.column_of["rf_dbm"]
    sampled = gather(branch.updated_us[column], of_carrier, NEVER_US)
    intervals = gather(branch.interval_us[column], of_carrier, 0)
    missing = np.isnan(margins)
    return Sampled(
        values=np.fmax.reduce(margins, axis=1, initial=np.nan),
        sampled_us=np.where(missing, NEVER_US, sampled).max(axis=1, initial=NEVER_US),
        window_us=2 * intervals.max(axis=1, initial=0),
        at_least=(missing & (of_carrier != NO_ROW)).any(axis=1),
    )


def _good_cell(table: LiveTable, name: str, row: int) -> float:
    column = table.column_of[name]
    good = row != NO_ROW and table.qualities[column, row] == Quality.GOOD
    return float(table.values[column, row]) if good else float("nan")


def _margin_evidence(tables: LiveTables, rows: RowMap, row: int) -> dict[str, float]:
    table = tables[Place.BRANCH]
    branches = [int(branch) for branch in rows.branch_rows[Place.CARRIER][row]]
    read = [(_good_cell(table, "rf_dbm", branch), _good_cell(table, "floor_dbm", branch)) for branch in branches]
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


def contact_age_s(tables: LiveTables, rows: RowMap) -> Sampled:
    """Seconds since the last fresh heartbeat of each device; a lower bound for one that was never heard."""
    del rows
    table = tables[Place.DEVICE]
    column = table.column_of["contact_age_s"]
    return Sampled(
        values=table.values[column],
        sampled_us=table.updated_us[column],
        window_us=np.full(len(table), np.iinfo(np.int64).max // 4),
        at_least=table.qualities[column] == Quality.UNCERTAIN,
    )


def _contact_evidence(tables: LiveTables, rows: RowMap, row: int) -> dict[str, float]:
    del rows
    table = tables[Place.DEVICE]
    return {"contact_age_s": round(float(table.values[table.column_of["contact_age_s"], row]), 1)}


def _reading(place: Place, name: str) -> Measure:
    """A measure that is a reading as it stands."""

    def sample(tables: LiveTables, rows: RowMap) -> Sampled:
        del rows
        table = tables[place]
        column = table.column_of[name]
        none = np.zeros(len(table), dtype=np.bool_)
        return Sampled(table.good(name), table.updated_us[column], 2 * table.interval_us[column], none)

    def evidence(tables: LiveTables, rows: RowMap, row: int) -> dict[str, float]:
        del rows
        value = _good_cell(tables[place], name, row)
        return {name: value} if math.isfinite(value) else {}

    return Measure(name, place, sample, evidence)


MEASURES: dict[str, Measure] = {
    measure.name: measure
    for measure in (
        Measure("better_branch_margin_db", Place.CARRIER, better_branch_margin_db, _margin_evidence),
        Measure("contact_age_s", Place.DEVICE, contact_age_s, _contact_evidence),
        _reading(Place.CARRIER, "link_quality"),
        _reading(Place.CHANNEL, "audio_damage_fraction"),
        _reading(Place.CHANNEL, "peak_dbfs"),
        _reading(Place.CHANNEL, "rms_dbfs"),
        _reading(Place.PACK, "battery_fraction"),
        _reading(Place.PACK, "battery_minutes"),
        _reading(Place.PACK, "battery_v"),
        _reading(Place.PACK, "return_link"),
    )
}
"""Every measure that a rule may name."""
