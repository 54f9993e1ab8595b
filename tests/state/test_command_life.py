from __future__ import annotations

import itertools

import pytest

from fleet.model.command import TERMINAL, CommandState
from fleet.model.observation import Answer
from fleet.state.command_life import TRANSITIONS, TRIGGER_OF_ANSWER, Trigger, next_state

S = CommandState
T = Trigger

# Written by hand from the agreement on commands, not from the table: who may follow whom, and by what.
EXPECTED: dict[tuple[CommandState, Trigger], CommandState] = {
    (S.REQUESTED, T.SEND): S.SENT,
    (S.REQUESTED, T.CANCEL): S.CANCELLED,
    (S.REQUESTED, T.SUPERSEDE): S.SUPERSEDED,
    (S.REQUESTED, T.CONFLICT): S.REFUSED,
    (S.REQUESTED, T.DEADLINE): S.EXPIRED,
    (S.REQUESTED, T.RESTART): S.EXPIRED,
    (S.SENT, T.ACCEPTED): S.ACCEPTED,
    (S.SENT, T.DONE): S.ACCEPTED,
    (S.SENT, T.WAITS_FOR_WAKE): S.WAITING_FOR_WAKE,
    (S.SENT, T.WAITS_FOR_HAND): S.WAITING_FOR_HAND,
    (S.SENT, T.REPORTED): S.CONFIRMED,
    (S.SENT, T.FINISHED): S.CONFIRMED,
    (S.SENT, T.CUT_OFF): S.UNKNOWN,
    (S.ACCEPTED, T.FINISHED): S.CONFIRMED,
    (S.ACCEPTED, T.CUT_OFF): S.UNKNOWN,
    (S.UNKNOWN, T.FINISHED): S.CONFIRMED,
    (S.SENT, T.REFUSED): S.REFUSED,
    (S.SENT, T.PARTLY_DONE): S.PARTLY_DONE,
    (S.SENT, T.ENDED_BY_DEVICE): S.CANCELLED,
    (S.SENT, T.LOST_BY_DEVICE): S.UNKNOWN,
    (S.SENT, T.DEADLINE): S.UNKNOWN,
    (S.SENT, T.RESTART): S.UNKNOWN,
    (S.ACCEPTED, T.WAITS_FOR_WAKE): S.WAITING_FOR_WAKE,
    (S.ACCEPTED, T.WAITS_FOR_HAND): S.WAITING_FOR_HAND,
    (S.ACCEPTED, T.REPORTED): S.CONFIRMED,
    (S.ACCEPTED, T.READ_EQUAL): S.CONFIRMED,
    (S.ACCEPTED, T.REFUSED): S.REFUSED,
    (S.ACCEPTED, T.PARTLY_DONE): S.PARTLY_DONE,
    (S.ACCEPTED, T.ENDED_BY_DEVICE): S.CANCELLED,
    (S.ACCEPTED, T.LOST_BY_DEVICE): S.UNKNOWN,
    (S.ACCEPTED, T.DEADLINE): S.UNKNOWN,
    (S.ACCEPTED, T.RESTART): S.UNKNOWN,
    (S.UNKNOWN, T.REPORTED): S.CONFIRMED,
    (S.UNKNOWN, T.READ_EQUAL): S.CONFIRMED,
    (S.UNKNOWN, T.READ_DIFFERENT): S.NOT_APPLIED,
    (S.UNKNOWN, T.REFUSED): S.REFUSED,
    (S.UNKNOWN, T.PARTLY_DONE): S.PARTLY_DONE,
    (S.UNKNOWN, T.ENDED_BY_DEVICE): S.CANCELLED,
    (S.UNKNOWN, T.CLOSE): S.CLOSED,
}
for _waiting, _other, _by in (
    (S.WAITING_FOR_WAKE, S.WAITING_FOR_HAND, T.WAITS_FOR_HAND),
    (S.WAITING_FOR_HAND, S.WAITING_FOR_WAKE, T.WAITS_FOR_WAKE),
):
    EXPECTED |= {
        (_waiting, _by): _other,
        (_waiting, T.ACCEPTED): S.ACCEPTED,
        (_waiting, T.DONE): S.ACCEPTED,
        (_waiting, T.REPORTED): S.CONFIRMED,
        (_waiting, T.FINISHED): S.CONFIRMED,
        (_waiting, T.CUT_OFF): S.UNKNOWN,
        (_waiting, T.READ_EQUAL): S.CONFIRMED,
        (_waiting, T.REFUSED): S.REFUSED,
        (_waiting, T.PARTLY_DONE): S.PARTLY_DONE,
        (_waiting, T.ENDED_BY_DEVICE): S.CANCELLED,
        (_waiting, T.LOST_BY_DEVICE): S.UNKNOWN,
        (_waiting, T.DEADLINE): S.UNKNOWN,
        (_waiting, T.REBOOT): S.UNKNOWN,
        (_waiting, T.RESTART): S.UNKNOWN,
    }


@pytest.mark.parametrize(("state", "trigger"), list(itertools.product(CommandState, Trigger)))
def test_every_state_and_trigger(state: CommandState, trigger: Trigger) -> None:
    assert next_state(state, trigger) is EXPECTED.get((state, trigger))


def test_nothing_follows_a_terminal_state() -> None:
    assert not set(TRANSITIONS) & TERMINAL
    assert set(TRANSITIONS) | TERMINAL == set(CommandState)


def test_a_command_is_sent_from_one_state_only() -> None:
    assert [state for state, row in TRANSITIONS.items() if S.SENT in row.values()] == [S.REQUESTED]


def test_only_reports_reading_back_and_the_end_of_an_act_confirm() -> None:
    confirming = {trigger for row in TRANSITIONS.values() for trigger, state in row.items() if state is S.CONFIRMED}
    assert confirming == {T.REPORTED, T.READ_EQUAL, T.FINISHED}


def test_every_answer_is_a_trigger() -> None:
    assert set(TRIGGER_OF_ANSWER) == set(Answer)
