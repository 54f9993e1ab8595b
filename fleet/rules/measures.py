"""Measures that rules may name: whole columns derived from the live tables.

A measure gives a value for each row of its place, NaN where it can't be known, and when it was sampled, so that a delay
counts reported time and not the age of the last report.
"""

from __future__ import annotations

import math

import numpy as np

from fleet.model.address import Place
from fleet.model.fields import AUDIO_STATES
from fleet.model.quality import Quality
from fleet.rules.branch_measures import better_branch_margin_db, deafness_db, deafness_evidence, margin_evidence
from fleet.rules.cell_measures import cell_evidence, short_minutes, unplanned_minutes, wake_evidence, wake_overdue_s
from fleet.rules.sight import Measure, Sampled, Sight, good_cell, good_cells, rounded, sampled_as

_NO_KEY = AUDIO_STATES.index("no_key")


def contact_age_s(sight: Sight) -> Sampled:
    """Seconds since the last fresh heartbeat of each device; a lower bound for one that was never heard."""
    table = sight.tables[Place.DEVICE]
    column = table.column_of["contact_age_s"]
    return Sampled(
        values=table.values[column],
        sampled_us=table.updated_us[column],
        window_us=np.full(len(table), np.iinfo(np.int64).max // 4),
        at_least=table.qualities[column] == Quality.UNCERTAIN,
    )


def _contact_evidence(sight: Sight, row: int) -> dict[str, float]:
    table = sight.tables[Place.DEVICE]
    return {"contact_age_s": round(float(table.values[table.column_of["contact_age_s"], row]), 1)}


def damage_share(sight: Sight) -> Sampled:
    """The share of the last seconds' audio that was damaged."""
    return sampled_as(sight.tables[Place.CHANNEL], "audio_damage_fraction", sight.windows.damage.values)


def _damage_evidence(sight: Sight, row: int) -> dict[str, float]:
    return rounded({"damaged_fraction": float(sight.windows.damage.values[row])})


def overload_share(sight: Sight) -> Sampled:
    """The share of the last seconds in which the input of a pack was overloaded."""
    return sampled_as(sight.tables[Place.PACK], "input_overload", sight.windows.overload.values)


def _overload_evidence(sight: Sight, row: int) -> dict[str, float]:
    peaks = [
        good_cell(sight.tables[Place.CHANNEL], "peak_dbfs", int(channel))
        for channel in sight.rows.channel_rows[Place.PACK][row]
    ]
    peak_dbfs = max((peak for peak in peaks if math.isfinite(peak)), default=float("nan"))
    return rounded({"overloaded_fraction": float(sight.windows.overload.values[row]), "peak_dbfs": peak_dbfs})


def without_key(sight: Sight) -> Sampled:
    """1 where a channel hears its pack and lacks the key to it, 0 where it doesn't."""
    table = sight.tables[Place.CHANNEL]
    state = table.good("audio_state")
    return sampled_as(table, "audio_state", np.where(np.isnan(state), np.nan, state == _NO_KEY))


def slips_per_minute(sight: Sight) -> Sampled:
    """How many samples of a device's digital outputs slip in a minute, over the last seconds."""
    return sampled_as(sight.tables[Place.DEVICE], "slip_count", sight.windows.slips.per_minute)


def _slip_evidence(sight: Sight, row: int) -> dict[str, float]:
    rate = rounded({"slips_per_min": round(float(sight.windows.slips.per_minute[row]), 1)})
    return rate | good_cells(sight.tables[Place.DEVICE], row, "clock_error_ppm")


def _clock_evidence(sight: Sight, row: int) -> dict[str, float]:
    return good_cells(sight.tables[Place.DEVICE], row, "clock_error_ppm")


def _reading(place: Place, name: str) -> Measure:
    """A measure that is a reading as it stands."""

    def sample(sight: Sight) -> Sampled:
        table = sight.tables[place]
        return sampled_as(table, name, table.good(name))

    def evidence(sight: Sight, row: int) -> dict[str, float]:
        return good_cells(sight.tables[place], row, name)

    return Measure(name, place, sample, evidence)


def _nothing(sight: Sight, row: int) -> dict[str, float]:
    del sight, row
    return {}


_DERIVED = (
    Measure("better_branch_margin_db", Place.CARRIER, better_branch_margin_db, margin_evidence),
    Measure("branch_deafness_db", Place.BRANCH, deafness_db, deafness_evidence),
    Measure("contact_age_s", Place.DEVICE, contact_age_s, _contact_evidence),
    Measure("slips_per_min", Place.DEVICE, slips_per_minute, _slip_evidence),
    Measure("clock_locked", Place.DEVICE, _reading(Place.DEVICE, "clock_locked").sample, _clock_evidence),
    Measure("damaged_fraction", Place.CHANNEL, damage_share, _damage_evidence),
    Measure("without_key", Place.CHANNEL, without_key, _nothing),
    Measure("overloaded_fraction", Place.PACK, overload_share, _overload_evidence),
    Measure("short_min", Place.PACK, short_minutes, cell_evidence),
    Measure("unplanned_min", Place.PACK, unplanned_minutes, cell_evidence),
    Measure("wake_overdue_s", Place.PACK, wake_overdue_s, wake_evidence),
)
_AS_READ = (
    (Place.CARRIER, "link_quality"),
    (Place.CHANNEL, "audio_damage_fraction"),
    (Place.CHANNEL, "peak_dbfs"),
    (Place.CHANNEL, "rms_dbfs"),
    (Place.PACK, "battery_fraction"),
    (Place.PACK, "battery_minutes"),
    (Place.PACK, "battery_v"),
    (Place.PACK, "return_link"),
    (Place.BRANCH, "feed_ma"),
    (Place.DEVICE, "temperature_c"),
    (Place.DEVICE, "supply_ok"),
)
MEASURES: dict[str, Measure] = {
    measure.name: measure for measure in (*_DERIVED, *(_reading(place, name) for place, name in _AS_READ))
}
"""Every measure that a rule may name."""
