"""Commands: what somebody asked of a device, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from fleet.model.fields import Value


class CommandState(StrEnum):
    """The life of a command. Only a report from the device confirms."""

    REQUESTED = "requested"
    SENT = "sent"
    ACCEPTED = "accepted"
    WAITING_FOR_WAKE = "waiting for wake"
    WAITING_FOR_HAND = "waiting for a hand"
    CONFIRMED = "confirmed"
    REFUSED = "refused"
    PARTLY_DONE = "partly done"
    SUPERSEDED = "superseded"
    CANCELLED = "cancelled"
    EXPIRED = "expired"
    UNKNOWN = "unknown"
    NOT_APPLIED = "not applied"
    CLOSED = "closed"


TERMINAL = frozenset(
    {
        CommandState.CONFIRMED,
        CommandState.REFUSED,
        CommandState.PARTLY_DONE,
        CommandState.SUPERSEDED,
        CommandState.CANCELLED,
        CommandState.EXPIRED,
        CommandState.NOT_APPLIED,
        CommandState.CLOSED,
    }
)


@dataclass(frozen=True, slots=True)
class FieldOutcome:
    """What became of one field of a partly done command."""

    field: str
    done: bool
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Command:
    """A write of one or several settings of one thing, or an act on it.

    ``act`` names the act and is empty for a write. ``changes`` are the settings asked for, or an act's arguments but
    for its secret ones, which stand nowhere. ``progress`` is the share of an act that is done, where its device tells,
    and ``result`` what it said of one that is. ``revision`` is the one the writer of settings saw.
    ``deadline_monotonic_us`` is when the present state ends by itself (None for never). ``unrecorded`` marks a command
    that the journal could not take before it was sent.
    """

    command_id: str
    target: str
    device_id: str
    changes: Mapping[str, Value]
    revision: str
    requested_by: str
    requested_utc_us: int
    state: CommandState
    changed_utc_us: int
    reason: str = ""
    outcomes: tuple[FieldOutcome, ...] = ()
    deadline_monotonic_us: int | None = None
    unrecorded: bool = False
    act: str = ""
    progress: float | None = None
    result: Mapping[str, Value] = field(default_factory=dict)

    @property
    def is_terminal(self) -> bool:
        """Whether nothing can happen to it any more."""
        return self.state in TERMINAL
