"""The conversation as a table: who speaks → state → message → next state.

Both ends hold the same table. A message that isn't in the row of the present state is not allowed. Only the device's
messages move the state past the greeting, and what a console may ask in one state it may ask in all later ones, so
the two ends agree although their messages cross.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Role(StrEnum):
    """The two ends of a conversation."""

    CONSOLE = "console"
    DEVICE = "device"


class SessionState(StrEnum):
    """How far the conversation has come."""

    OPENING = "opening"
    GREETING = "greeting"
    GREETED = "greeted"
    DESCRIBED = "described"
    LIVE = "live"
    CLOSED = "closed"
    FAULTED = "faulted"


ENDED = frozenset({SessionState.CLOSED, SessionState.FAULTED})
OTHER_BOOT = "heartbeat of another boot"
Row = Mapping[str, SessionState]


def result_of(method: str) -> str:
    """The name in the table of the good answer to a request."""
    return f"{method} result"


def refusal_of(method: str) -> str:
    """The name in the table of the error answer to a request."""
    return f"{method} refused"


def _stay(state: SessionState, *messages: str) -> dict[str, SessionState]:
    return dict.fromkeys(messages, state)


def _answers(state: SessionState, *methods: str) -> dict[str, SessionState]:
    names = [name for method in methods for name in (result_of(method), refusal_of(method))]
    return _stay(state, *names)


_WORK = ("describe", "read", "write", "cancel", "act", "subscribe", "unsubscribe", "lease", "release")
_GREETED_NEWS = ("described", "notice", "heartbeat")
_DESCRIBED_NEWS = (*_GREETED_NEWS, "changed", "outcome", "progress", "leased")

TRANSITIONS: Mapping[Role, Mapping[SessionState, Row]] = {
    Role.CONSOLE: {
        SessionState.OPENING: {"hello": SessionState.GREETING},
        SessionState.GREETED: _stay(SessionState.GREETED, "describe"),
        SessionState.DESCRIBED: _stay(SessionState.DESCRIBED, *_WORK),
        SessionState.LIVE: _stay(SessionState.LIVE, *_WORK),
    },
    Role.DEVICE: {
        SessionState.GREETING: {
            result_of("hello"): SessionState.GREETED,
            refusal_of("hello"): SessionState.CLOSED,
        },
        SessionState.GREETED: {
            result_of("describe"): SessionState.DESCRIBED,
            refusal_of("describe"): SessionState.GREETED,
            **_stay(SessionState.GREETED, *_GREETED_NEWS),
            OTHER_BOOT: SessionState.CLOSED,
        },
        SessionState.DESCRIBED: {
            **_answers(SessionState.DESCRIBED, *_WORK),
            result_of("subscribe"): SessionState.LIVE,
            **_stay(SessionState.DESCRIBED, *_DESCRIBED_NEWS),
            OTHER_BOOT: SessionState.CLOSED,
        },
        SessionState.LIVE: {
            **_answers(SessionState.LIVE, *_WORK),
            **_stay(SessionState.LIVE, *_DESCRIBED_NEWS, "readings"),
            OTHER_BOOT: SessionState.CLOSED,
        },
    },
}


def next_state(speaker: Role, state: SessionState, message: str) -> SessionState | None:
    """The state after ``speaker`` has said ``message`` in ``state``; None when that isn't allowed."""
    return TRANSITIONS[speaker].get(state, {}).get(message)
