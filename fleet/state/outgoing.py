"""Which commands may go out now: in their order, one write of a thing at a time, once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from fleet.model.command import CommandState
from fleet.model.event import CommandChanged
from fleet.model.fields import same_value
from fleet.model.moment import Moment
from fleet.model.settings import counter_of
from fleet.state.command_life import Trigger
from fleet.state.commands import IN_FLIGHT, CommandBook, Tracked
from fleet.state.contacts import ContactBook
from fleet.state.permits import Permits
from fleet.state.requests import refusal_now
from fleet.state.twin import Twin
from fleet.topology import Topology


class Outgoing:
    """Lets commands become SENT. Things that share a counter of revisions take their writes one after the other."""

    def __init__(self, book: CommandBook, twin: Twin, contacts: ContactBook, permits: Permits) -> None:
        self.topology: Callable[[], Topology] | None = None
        self._book = book
        self._twin = twin
        self._contacts = contacts
        self._permits = permits

    def send_ready(self, at: Moment) -> tuple[CommandChanged, ...]:
        """Hand on, in order, what waits for a fresh contact and for the command before it."""
        if self._book.is_idle:
            return ()
        events: list[CommandChanged] = []
        busy = {counter_of(tracked.command.target) for tracked in self._book.open() if _is_under_way(tracked)}
        for tracked in self._book.open():
            command = tracked.command
            counter = counter_of(command.target)
            if command.state is not CommandState.REQUESTED or counter in busy or not self._is_reachable(tracked):
                continue
            if at.monotonic_us < self._book.may_write_from_us(command.target, tracked.limits.fastest_us):
                busy.add(counter)  # What comes after it keeps its place.
                continue
            problem = self._problem(tracked)
            events += self._book.each(at, [command.command_id], Trigger.CONFLICT if problem else Trigger.SEND, problem)
            if not problem:
                busy.add(counter)
        return tuple(events)

    def _is_reachable(self, tracked: Tracked) -> bool:
        command = tracked.command
        if not self._contacts.is_fresh(command.device_id):
            return False
        reported = self._twin.get(command.target)
        return bool(command.act) or (reported is not None and reported.current)

    def _problem(self, tracked: Tracked) -> str:
        """Why it can't go after all, in words."""
        refused = self._permits.problem(tracked.command.device_id, guarded=tracked.guarded)
        if refused is not None:
            return refused
        command = tracked.command
        if command.act:
            return ""
        if not self._is_current(tracked):
            return "its settings were changed before it could be sent"
        if self.topology is None:
            return ""
        return refusal_now(command.target, command.changes, self.topology(), self._twin)

    def _is_current(self, tracked: Tracked) -> bool:
        """Whether the write still sees what its writer saw; if only other settings changed, it takes their revision."""
        command = tracked.command
        revision = self._twin.revision_of(command.target)
        if revision == command.revision:
            return True
        same_boot = revision.rpartition(".")[0] == command.revision.rpartition(".")[0]
        settings, seen = self._twin.settings_of(command.target), tracked.seen
        if not same_boot or not all(same_value(settings.get(name), seen[name]) for name in seen):
            return False
        self._book.replace(tracked, replace(command, revision=revision))
        return True


def _is_under_way(tracked: Tracked) -> bool:
    """Whether what comes next must wait. An act that was accepted may take long, and holds nothing up."""
    if tracked.command.act:
        return tracked.command.state is CommandState.SENT
    return tracked.command.state in IN_FLIGHT
