"""What a change would do to a plan's carriers: margins before and after, reckoned and never measured."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CarrierName:
    """A carrier of a plan: no group has two on one frequency."""

    group: str
    frequency_hz: int


@dataclass(frozen=True, slots=True)
class WorstProduct:
    """The strongest product in a carrier's channel, its makers in the order of the family's letters.

    ``is_proven`` says that no product of weaker carriers than were looked at could be stronger.
    """

    family: str
    makers: tuple[CarrierName, ...]
    frequency_hz: int
    level_dbm: float
    is_proven: bool


@dataclass(frozen=True, slots=True)
class CarrierMargins:
    """Margins of one carrier in dB: over noise, over all products in its channel, over others on its frequency.

    ``over_all_db`` is over the three together. A margin is None where nothing is there. ``antenna`` is the one of its
    zone at which ``over_all_db`` is greatest, and ``level_dbm`` the carrier's there.
    """

    antenna: str
    level_dbm: float
    over_noise_db: float
    over_products_db: float | None
    over_others_db: float | None
    over_all_db: float
    worst: WorstProduct | None


@dataclass(frozen=True, slots=True)
class CarrierForecast:
    """One carrier before and after; ``gain_db`` is how much further above all that is against it, below zero a loss."""

    group: str
    zone: str
    frequency_hz: int
    gain_db: float
    before: CarrierMargins
    after: CarrierMargins


@dataclass(frozen=True, slots=True)
class AntennaLoad:
    """All that reaches the receivers of an antenna together, before and after; None where nothing does.

    Not ``is_trusted`` is a forecast for a front end so loaded, before or after, that the law of products no longer
    holds: it compresses, and what is said of its carriers is too good.
    """

    antenna: str
    before_dbm: float | None
    after_dbm: float | None
    is_trusted: bool


@dataclass(frozen=True, slots=True)
class Forecast:
    """Every received carrier in the plan's order, every antenna's load, and the caution to print beside them."""

    carriers: tuple[CarrierForecast, ...]
    loads: tuple[AntennaLoad, ...]
    caution: str
