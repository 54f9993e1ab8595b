from __future__ import annotations

import itertools

import pytest

from fleet.model.alarm import AlarmState
from fleet.rules.alarm_life import AlarmTrigger, next_state

S = AlarmState
T = AlarmTrigger

# The state table of ANSI/ISA-18.2 (2016) and IEC 62682, without the optional re-alarm; suppression by design beside it.
EXPECTED: dict[tuple[AlarmState, AlarmTrigger], AlarmState] = {
    (S.NORMAL, T.BEGINS): S.UNACKNOWLEDGED,
    (S.UNACKNOWLEDGED, T.ACKNOWLEDGE): S.ACKNOWLEDGED,
    (S.UNACKNOWLEDGED, T.ENDS): S.RETURNED_UNACKNOWLEDGED,
    (S.ACKNOWLEDGED, T.ENDS): S.NORMAL,
    (S.RETURNED_UNACKNOWLEDGED, T.BEGINS): S.UNACKNOWLEDGED,
    (S.RETURNED_UNACKNOWLEDGED, T.ACKNOWLEDGE): S.NORMAL,
    (S.UNACKNOWLEDGED, T.SUPPRESS): S.SUPPRESSED,
    (S.ACKNOWLEDGED, T.SUPPRESS): S.SUPPRESSED,
    (S.SUPPRESSED, T.ENDS): S.NORMAL,
    (S.SUPPRESSED, T.RELEASE_UNACKNOWLEDGED): S.UNACKNOWLEDGED,
    (S.SUPPRESSED, T.RELEASE_ACKNOWLEDGED): S.ACKNOWLEDGED,
}


@pytest.mark.parametrize(("state", "trigger"), list(itertools.product(AlarmState, AlarmTrigger)))
def test_every_state_and_trigger(state: AlarmState, trigger: AlarmTrigger) -> None:
    assert next_state(state, trigger) is EXPECTED.get((state, trigger))
