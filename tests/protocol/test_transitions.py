"""The table of the conversation hangs together."""

from __future__ import annotations

import itertools

import pytest

from fleet.protocol import messages
from fleet.protocol.codes import MEANINGS, ErrorCode, word_of
from fleet.protocol.transitions import (
    ENDED,
    OTHER_BOOT,
    TRANSITIONS,
    Role,
    SessionState,
    next_state,
    refusal_of,
    result_of,
)
from fleet.protocol.versions import negotiate

ORDER = [SessionState.GREETED, SessionState.DESCRIBED, SessionState.LIVE]


def test_what_either_end_may_say_it_may_say_in_all_later_states() -> None:
    for role in Role:
        for earlier, later in itertools.pairwise(ORDER):
            assert set(TRANSITIONS[role][earlier]) <= set(TRANSITIONS[role][later])


def test_every_request_can_be_answered_and_refused_wherever_it_may_be_made() -> None:
    for state, row in TRANSITIONS[Role.CONSOLE].items():
        for method, following in row.items():
            assert next_state(Role.DEVICE, following, result_of(method)) is not None, (state, method)
            assert next_state(Role.DEVICE, following, refusal_of(method)) is not None, (state, method)


def test_every_message_of_the_protocol_stands_in_the_table_and_no_other() -> None:
    asked = {message for row in TRANSITIONS[Role.CONSOLE].values() for message in row}
    said = {message for row in TRANSITIONS[Role.DEVICE].values() for message in row}
    answers = {name for method in messages.REQUESTS for name in (result_of(method), refusal_of(method))}
    assert asked == set(messages.REQUESTS)
    assert said == answers | set(messages.NOTIFICATIONS) | {OTHER_BOOT}


def test_every_state_is_reached_and_the_last_ones_lead_nowhere() -> None:
    reached = {following for rows in TRANSITIONS.values() for row in rows.values() for following in row.values()}
    assert reached | {SessionState.OPENING, SessionState.FAULTED} == set(SessionState)
    for role in Role:
        assert not ENDED & set(TRANSITIONS[role])


def test_readings_come_only_after_a_subscription() -> None:
    allowed = [state for state, row in TRANSITIONS[Role.DEVICE].items() if "readings" in row]
    assert allowed == [SessionState.LIVE]


@pytest.mark.parametrize(
    ("ours", "theirs", "agreed"),
    [(["1.0"], ["1.0"], "1.0"), (["1.0"], ["1.9"], "1.0"), (["1.0"], ["2.0", "1.1"], "1.0"), (["1.0"], ["10.0"], None)],
)
def test_the_same_major_version_works(ours: list[str], theirs: list[str], agreed: str | None) -> None:
    assert negotiate(ours, theirs) == agreed


def test_every_error_code_has_its_word_and_meaning() -> None:
    assert set(MEANINGS) == set(ErrorCode)
    assert word_of(-32011) == "out of range"
    assert word_of(-1) == "error -1"
