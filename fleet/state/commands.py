"""All commands that are open, and those that ended within the last ten minutes.

The book follows the table of ``command_life`` and knows no device: what the twin holds and who is in contact is told to
it. Nothing in it sends anything; a command that became SENT is for the runtime to hand on, once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from fleet.errors import LimitReached
from fleet.model.capability import ACCEPT_WITHIN_MS, CONFIRM_WITHIN_MS
from fleet.model.command import Command, CommandState, FieldOutcome
from fleet.model.event import CommandChanged
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.state.command_life import Trigger, next_state

OPEN_MAXIMUM = 10_000
"""Commands that may be open at once; one more is refused."""
REMEMBERED_US = 600_000_000
"""How long an id is remembered, so that a repeat within ten minutes does nothing."""
SEND_WITHIN_US = 2_000_000
WAIT_WITHIN_US = 12 * 3_600_000_000
"""How long a device may wait for a pack to wake or for a hand before the command counts as unknown; common practice:
no working day is longer."""

_SECRETS_KEPT = frozenset({CommandState.REQUESTED, CommandState.SENT})
IN_FLIGHT = frozenset({CommandState.SENT, CommandState.ACCEPTED})
WAITING = frozenset({CommandState.WAITING_FOR_WAKE, CommandState.WAITING_FOR_HAND})


@dataclass(frozen=True, slots=True)
class Limits:
    """How long a device may take to accept and to confirm, and how often each setting may be written at the most.

    A write is confirmed within its time from its sending, an act from its acceptance.
    """

    accept_within_us: int = ACCEPT_WITHIN_MS * 1_000
    confirm_within_us: int = CONFIRM_WITHIN_MS * 1_000
    fastest_us: Mapping[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class Tracked:
    """A command and what the console remembers of its way.

    ``seen`` are the values that its fields had when it was asked for. ``done`` says that the device called it done
    without having reported the values. ``asked_us`` is when its settings were last to be read again.
    ``may_have_missed`` says that the contact was interrupted since, so that the device's word of it may not have come.
    ``secrets`` are an act's secret arguments until it is handed on; nothing prints them. ``guarded`` things go only
    while their device is unlocked, and acts that are ``cancellable`` can be given up once they have begun.
    ``cancel_asked_us`` is when its locked device was last asked to give it up.
    """

    command: Command
    limits: Limits
    seen: Mapping[str, Value] = field(default_factory=dict)
    requested_us: int = 0
    sent_us: int = 0
    done_us: int | None = None
    asked_us: int | None = None
    may_have_missed: bool = False
    secrets: dict[str, Value] = field(default_factory=dict, repr=False)
    guarded: bool = False
    cancellable: bool = True
    cancel_asked_us: int | None = None


class CommandBook:
    """The commands by id. ``touched`` holds the targets whose commands changed since it was last emptied."""

    def __init__(self) -> None:
        self._tracked: dict[str, Tracked] = {}
        self._open: dict[str, Tracked] = {}
        self._open_of: dict[str, dict[str, Tracked]] = {}
        self._written_us: dict[tuple[str, str], int] = {}  # At most one for each setting that a device has.
        self.touched: set[str] = set()

    def get(self, command_id: str) -> Tracked | None:
        """The command of that id, or None when it is unknown or forgotten."""
        return self._tracked.get(command_id)

    def all(self) -> tuple[Command, ...]:
        """Every command that is remembered, in the order in which they were asked for."""
        return tuple(tracked.command for tracked in self._tracked.values())

    @property
    def is_idle(self) -> bool:
        """Whether every command is terminal."""
        return not self._open

    def open(self, target: str | None = None) -> Iterator[Tracked]:
        """The commands that aren't terminal, in order; of one target, or all."""
        chosen = self._open if target is None else self._open_of.get(target, {})
        yield from tuple(chosen.values())

    def add(self, at: Moment, tracked: Tracked) -> CommandChanged:
        """Take a new command in.

        Raises LimitReached when too many are open.
        """
        if len(self._open) >= OPEN_MAXIMUM:
            raise LimitReached("commands under way", OPEN_MAXIMUM)
        tracked.requested_us = at.monotonic_us
        self._keep(tracked)
        return CommandChanged(at, tracked.command)

    def restore(self, at: Moment, command: Command) -> tuple[CommandChanged, ...]:
        """Take in a command that the journal remembers as open: after a crash its outcome is unknown or it expires."""
        tracked = Tracked(command, Limits(), requested_us=at.monotonic_us)
        self._keep(tracked)
        event = self.step(at, command.command_id, Trigger.RESTART, reason="the console was restarted")
        return () if event is None else (event,)

    def step(
        self,
        at: Moment,
        command_id: str,
        trigger: Trigger,
        *,
        reason: str = "",
        outcomes: tuple[FieldOutcome, ...] = (),
        result: Mapping[str, Value] | None = None,
    ) -> CommandChanged | None:
        """Let something happen to a command; None when the table lets it change nothing."""
        tracked = self._tracked.get(command_id)
        state = None if tracked is None else next_state(tracked.command.state, trigger)
        if tracked is None or state is None or state is tracked.command.state:
            return None
        if state is CommandState.SENT:
            tracked.sent_us = at.monotonic_us
        if tracked.command.state is CommandState.SENT:
            self._note_written(at, tracked.command)
        if state not in _SECRETS_KEPT:
            tracked.secrets.clear()
        tracked.command = replace(
            tracked.command,
            state=state,
            changed_utc_us=at.utc_us,
            reason=reason,
            outcomes=outcomes or tracked.command.outcomes,
            result=result or tracked.command.result,
            deadline_monotonic_us=_deadline_us(tracked, state, at),
        )
        self._keep(tracked)
        return CommandChanged(at, tracked.command)

    def each(self, at: Moment, command_ids: Iterable[str], trigger: Trigger, reason: str) -> tuple[CommandChanged, ...]:
        """Let the same happen to several commands; the changes that it made."""
        events = [self.step(at, command_id, trigger, reason=reason) for command_id in command_ids]
        return tuple(event for event in events if event is not None)

    def _note_written(self, at: Moment, command: Command) -> None:
        """The device has answered, so that it has had the write: from now on counts how soon the next may follow."""
        if command.act:
            return
        self._written_us.update(dict.fromkeys(((command.target, name) for name in command.changes), at.monotonic_us))

    def may_write_from_us(self, target: str, fastest_us: Mapping[str, int]) -> int:
        """From when on these settings, given with their shortest intervals, may be written again; 0 is at any time."""
        written = self._written_us
        ready_us = [
            written[target, name] + wait_us for name, wait_us in fastest_us.items() if (target, name) in written
        ]
        return max(ready_us, default=0)

    def replace(self, tracked: Tracked, command: Command) -> None:
        """Put a corrected command in place of the tracked one, without a change of state."""
        tracked.command = command
        self._keep(tracked)

    def mark_unrecorded(self, command_id: str) -> None:
        """The journal could not take this command before it was sent."""
        tracked = self._tracked.get(command_id)
        if tracked is not None:
            self.replace(tracked, replace(tracked.command, unrecorded=True))

    def _keep(self, tracked: Tracked) -> None:
        command = tracked.command
        self._tracked[command.command_id] = tracked
        of_target = self._open_of.setdefault(command.target, {})
        for chosen in (self._open, of_target):
            if command.is_terminal:
                chosen.pop(command.command_id, None)
            else:
                chosen[command.command_id] = tracked
        if not of_target:
            del self._open_of[command.target]
        self.touched.add(command.target)

    def is_due(self, at: Moment, tracked: Tracked) -> bool:
        """Whether the present state of the command has lasted as long as it may."""
        deadline_us = tracked.command.deadline_monotonic_us
        return deadline_us is not None and at.monotonic_us >= deadline_us

    def forget_old(self, at: Moment) -> None:
        """Forget terminal commands that were asked for more than ten minutes ago."""
        while self._tracked:
            command_id, tracked = next(iter(self._tracked.items()))
            if at.monotonic_us - tracked.requested_us <= REMEMBERED_US:
                return
            if not tracked.command.is_terminal:
                self._tracked[command_id] = self._tracked.pop(command_id)
                tracked.requested_us = at.monotonic_us
                continue
            del self._tracked[command_id]


def _deadline_us(tracked: Tracked, state: CommandState, at: Moment) -> int | None:
    if state is CommandState.SENT:
        return at.monotonic_us + tracked.limits.accept_within_us
    if state is CommandState.ACCEPTED:
        is_new = tracked.command.state is CommandState.SENT and not tracked.command.act
        began_us = tracked.sent_us if is_new else at.monotonic_us
        return max(at.monotonic_us, began_us + tracked.limits.confirm_within_us)
    if state in WAITING:
        return at.monotonic_us + WAIT_WITHIN_US
    return None
