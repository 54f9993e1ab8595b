"""Alarms by the states of ANSI/ISA-18.2 and IEC 62682."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class AlarmState(StrEnum):
    """The states in use so far; shelved and out-of-service follow with shelving."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned unacknowledged"
    SUPPRESSED = "suppressed by design"


@dataclass(frozen=True, slots=True)
class Alarm:
    """One alarm: a rule and the address it holds for.

    ``alarm_id`` is ``rule_id:address``. ``evidence`` holds the measured values that raised it, by name with units at
    the end. ``raised_utc_us`` is when it was last raised, ``began_utc_us`` when the condition began.
    """

    alarm_id: str
    rule_id: str
    address: str
    state: AlarmState
    priority: int
    began_utc_us: int
    raised_utc_us: int
    evidence: dict[str, float]
    cleared_utc_us: int | None = None
    acknowledged_by: str = ""
    acknowledged_utc_us: int | None = None
    raised_count: int = 1

    @property
    def active(self) -> bool:
        """Whether the condition holds."""
        return self.state in (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED)
