"""A forecast: margins before and after changes, carrier by carrier."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleet.model.forecast import AntennaLoad, CarrierForecast, Forecast
from fleet.planning.what_if.changes import Change, changed
from fleet.planning.what_if.levels import load_dbm
from fleet.planning.what_if.margins import margins
from fleet.planning.what_if.site import Site, checked

CAUTION = (
    "A forecast, not a measurement: it knows distance, power and products of the third order, but no walls, no fading "
    "and no bodies beyond what was stated. The walk test governs."
)
# The input level at which a pure cubic has lost 1 dB of gain: 10 log10(1 - 10^(-1/20)) below its intercept point.
COMPRESSION_BELOW_INTERCEPT_DB = 9.636


def forecast(site: Site, changes: Sequence[Change]) -> Forecast:
    """What changes would do; site and plan stay as they are.

    Raises InvalidDocument with a key where something in them can't be; then nothing is reckoned.
    """
    after = checked(changed(checked(site), changes))
    pairs = zip(site.transmitters, margins(site), margins(after), strict=True)
    carriers = tuple(
        CarrierForecast(
            each.group, each.zone, each.frequency_hz, will.over_all_db - was.over_all_db, before=was, after=will
        )
        for each, was, will in pairs
        if was is not None and will is not None
    )
    return Forecast(carriers, _loads(site, after), CAUTION)


def _loads(before: Site, after: Site) -> tuple[AntennaLoad, ...]:
    found = []
    for antenna, was, will in zip(before.antennas, load_dbm(before), load_dbm(after), strict=True):
        is_trusted = max(was, will) < antenna.intercept_dbm - COMPRESSION_BELOW_INTERCEPT_DB
        found.append(AntennaLoad(antenna.name, _if_any(was), _if_any(will), bool(is_trusted)))
    return tuple(found)


def _if_any(level_dbm: float) -> float | None:
    return float(level_dbm) if np.isfinite(level_dbm) else None
