"""Alarm rules as documents."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.address import Place

DELAY_MAXIMUM_S = 86_400.0
"""No delay of a rule is longer than a day."""


class Side(StrEnum):
    """On which side of the limit the condition holds."""

    BELOW = "below"
    ABOVE = "above"


class WhenAbsent(StrEnum):
    """What an absent value does. It never clears an alarm."""

    HOLD = "hold"
    RAISE = "raise"


class Suppressor(StrEnum):
    """Circumstances that keep a rule quiet by design."""

    ASLEEP = "asleep"
    UNASSIGNED = "unassigned"
    CONTACT_LOST = "contact lost"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: a measure of one place, a limit, delays and a deadband.

    ``measure`` names a derived measure of ``fleet.rules.measures``; ``limit`` and ``deadband`` are in its unit. The
    condition must hold for ``on_delay_s`` before the alarm is raised; it ends once the measure is beyond limit by the
    deadband for ``off_delay_s``. ``priority_on_air`` replaces ``priority`` while the row's part is on air.
    """

    rule_id: str
    place: Place
    measure: str
    side: Side
    limit: float
    deadband: float
    on_delay_s: float
    off_delay_s: float
    priority: int
    priority_on_air: int | None = None
    when_absent: WhenAbsent = WhenAbsent.HOLD
    suppressed_when: tuple[Suppressor, ...] = ()
    enabled: bool = True
    source: str = "common practice"
