"""The life of a command as a table: what happens to it in which state, and which state follows.

What the table doesn't name changes nothing. Only a report from the device, or settings read again, confirms a write,
and only the device's word that it is done an act; nothing is ever sent a second time. Nobody can read an act back, so
one that is under way when the contact ends is unknown until the device says more or a person closes it.
"""

from __future__ import annotations

from enum import StrEnum

from fleet.model.command import CommandState
from fleet.model.observation import Answer


class Trigger(StrEnum):
    """What may happen to a command."""

    SEND = "send"
    ACCEPTED = "device accepts"
    WAITS_FOR_WAKE = "device waits for wake"
    WAITS_FOR_HAND = "device waits for a hand"
    REPORTED = "device reports the desired values for this command"
    DONE = "device says done"
    FINISHED = "device says an act is done"
    REFUSED = "device refuses"
    PARTLY_DONE = "device did a part"
    ENDED_BY_DEVICE = "device cancelled"
    LOST_BY_DEVICE = "device doesn't know"
    READ_EQUAL = "settings read again are the desired ones"
    READ_DIFFERENT = "settings read again are others"
    DEADLINE = "deadline"
    CANCEL = "cancel"
    SUPERSEDE = "a newer command takes its place"
    CONFLICT = "its fields changed before it was sent"
    REBOOT = "device started anew"
    CUT_OFF = "contact ended during an act"
    RESTART = "console started anew"
    CLOSE = "close"


_S = CommandState
_T = Trigger

_ANSWERED = {
    _T.REPORTED: _S.CONFIRMED,
    _T.FINISHED: _S.CONFIRMED,
    _T.REFUSED: _S.REFUSED,
    _T.PARTLY_DONE: _S.PARTLY_DONE,
    _T.ENDED_BY_DEVICE: _S.CANCELLED,
}
_IN_FLIGHT = {
    **_ANSWERED,
    _T.WAITS_FOR_WAKE: _S.WAITING_FOR_WAKE,
    _T.WAITS_FOR_HAND: _S.WAITING_FOR_HAND,
    _T.LOST_BY_DEVICE: _S.UNKNOWN,
    _T.DEADLINE: _S.UNKNOWN,
    _T.CUT_OFF: _S.UNKNOWN,
    _T.RESTART: _S.UNKNOWN,
}
_WAITING = {
    **_ANSWERED,
    _T.ACCEPTED: _S.ACCEPTED,
    _T.DONE: _S.ACCEPTED,
    _T.LOST_BY_DEVICE: _S.UNKNOWN,
    _T.READ_EQUAL: _S.CONFIRMED,
    _T.DEADLINE: _S.UNKNOWN,
    _T.CUT_OFF: _S.UNKNOWN,
    _T.REBOOT: _S.UNKNOWN,
    _T.RESTART: _S.UNKNOWN,
}

TRANSITIONS: dict[CommandState, dict[Trigger, CommandState]] = {
    _S.REQUESTED: {
        _T.SEND: _S.SENT,
        _T.CANCEL: _S.CANCELLED,
        _T.SUPERSEDE: _S.SUPERSEDED,
        _T.CONFLICT: _S.REFUSED,
        _T.DEADLINE: _S.EXPIRED,
        _T.RESTART: _S.EXPIRED,
    },
    _S.SENT: {**_IN_FLIGHT, _T.ACCEPTED: _S.ACCEPTED, _T.DONE: _S.ACCEPTED},
    _S.ACCEPTED: {**_IN_FLIGHT, _T.READ_EQUAL: _S.CONFIRMED},
    _S.WAITING_FOR_WAKE: {**_WAITING, _T.WAITS_FOR_HAND: _S.WAITING_FOR_HAND},
    _S.WAITING_FOR_HAND: {**_WAITING, _T.WAITS_FOR_WAKE: _S.WAITING_FOR_WAKE},
    _S.UNKNOWN: {
        **_ANSWERED,
        _T.READ_EQUAL: _S.CONFIRMED,
        _T.READ_DIFFERENT: _S.NOT_APPLIED,
        _T.CLOSE: _S.CLOSED,
    },
}
"""From a state and a trigger to the next state. A late answer to an unknown command is still the device's word."""

TRIGGER_OF_ANSWER: dict[Answer, Trigger] = {
    Answer.ACCEPTED: Trigger.ACCEPTED,
    Answer.WAITING_FOR_WAKE: Trigger.WAITS_FOR_WAKE,
    Answer.WAITING_FOR_HAND: Trigger.WAITS_FOR_HAND,
    Answer.DONE: Trigger.DONE,
    Answer.REFUSED: Trigger.REFUSED,
    Answer.PARTLY_DONE: Trigger.PARTLY_DONE,
    Answer.CANCELLED: Trigger.ENDED_BY_DEVICE,
    Answer.UNKNOWN: Trigger.LOST_BY_DEVICE,
}


def next_state(state: CommandState, trigger: Trigger) -> CommandState | None:
    """The state that follows, or None when the trigger changes nothing."""
    return TRANSITIONS.get(state, {}).get(trigger)
