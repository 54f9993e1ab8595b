"""The life of an alarm as a table, after the states of ANSI/ISA-18.2 and IEC 62682.

An alarm that is suppressed by design keeps what was known of it: released, it is what it was before, for silence proves
nothing. Shelving and out-of-service are not in use yet.
"""

from __future__ import annotations

from enum import StrEnum

from fleet.model.alarm import AlarmState


class AlarmTrigger(StrEnum):
    """What may happen to an alarm."""

    BEGINS = "condition begins"
    ENDS = "condition ends"
    ACKNOWLEDGE = "acknowledge"
    SUPPRESS = "suppress"
    RELEASE_UNACKNOWLEDGED = "release, not acknowledged before"
    RELEASE_ACKNOWLEDGED = "release, acknowledged before"


_S = AlarmState
_T = AlarmTrigger

TRANSITIONS: dict[AlarmState, dict[AlarmTrigger, AlarmState]] = {
    _S.NORMAL: {_T.BEGINS: _S.UNACKNOWLEDGED},
    _S.UNACKNOWLEDGED: {
        _T.ACKNOWLEDGE: _S.ACKNOWLEDGED,
        _T.ENDS: _S.RETURNED_UNACKNOWLEDGED,
        _T.SUPPRESS: _S.SUPPRESSED,
    },
    _S.ACKNOWLEDGED: {_T.ENDS: _S.NORMAL, _T.SUPPRESS: _S.SUPPRESSED},
    _S.RETURNED_UNACKNOWLEDGED: {_T.BEGINS: _S.UNACKNOWLEDGED, _T.ACKNOWLEDGE: _S.NORMAL},
    _S.SUPPRESSED: {
        _T.ENDS: _S.NORMAL,
        _T.RELEASE_UNACKNOWLEDGED: _S.UNACKNOWLEDGED,
        _T.RELEASE_ACKNOWLEDGED: _S.ACKNOWLEDGED,
    },
}
"""From a state and a trigger to the next state. What the table doesn't name changes nothing."""


def next_state(state: AlarmState, trigger: AlarmTrigger) -> AlarmState | None:
    """The state that follows, or None when the trigger changes nothing."""
    return TRANSITIONS[state].get(trigger)
