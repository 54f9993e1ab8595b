"""A forecast: margins before and after changes, carrier by carrier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.planning.what_if.changes import Change, changed
from fleet.planning.what_if.levels import load_dbm
from fleet.planning.what_if.margins import Margins, margins
from fleet.planning.what_if.site import Site, checked

CAUTION = (
    "A forecast, not a measurement: it knows distance, power and products of the third order, but no walls, no fading "
    "and no bodies beyond what was stated. The walk test governs."
)
# The input level at which a pure cubic has lost 1 dB of gain: 10 log10(1 - 10^(-1/20)) below its intercept point.
COMPRESSION_BELOW_INTERCEPT_DB = 9.636


@dataclass(frozen=True, slots=True)
class CarrierForecast:
    """One carrier before and after."""

    group: str
    zone: str
    frequency_hz: int
    before: Margins
    after: Margins

    @property
    def gain_db(self) -> float:
        """By how much it stands further above all that is against it; below zero where it loses."""
        return self.after.over_all_db - self.before.over_all_db


@dataclass(frozen=True, slots=True)
class AntennaLoad:
    """All that reaches the receivers of an antenna together, before and after.

    Not ``is_trusted`` is a forecast for a front end so loaded, before or after, that the law of products no longer
    holds: it compresses, and what is said of its carriers is too good.
    """

    antenna: str
    before_dbm: float
    after_dbm: float
    is_trusted: bool


@dataclass(frozen=True, slots=True)
class Forecast:
    """Every received carrier in the plan's order, every antenna's load, and the caution to print beside them."""

    carriers: tuple[CarrierForecast, ...]
    loads: tuple[AntennaLoad, ...]
    caution: str = CAUTION


def forecast(site: Site, changes: Sequence[Change]) -> Forecast:
    """What changes would do; site and plan stay as they are.

    Raises InvalidDocument with a key where something in them can't be; then nothing is reckoned.
    """
    after = checked(changed(checked(site), changes))
    pairs = zip(site.transmitters, margins(site), margins(after), strict=True)
    carriers = tuple(
        CarrierForecast(each.group, each.zone, each.frequency_hz, was, will)
        for each, was, will in pairs
        if was is not None and will is not None
    )
    return Forecast(carriers, _loads(site, after))


def _loads(before: Site, after: Site) -> tuple[AntennaLoad, ...]:
    found = []
    for antenna, was, will in zip(before.antennas, load_dbm(before), load_dbm(after), strict=True):
        is_trusted = max(was, will) < antenna.intercept_dbm - COMPRESSION_BELOW_INTERCEPT_DB
        found.append(AntennaLoad(antenna.name, float(was), float(will), bool(is_trusted)))
    return tuple(found)
