"""The desk where commands are asked for, handed on and settled: the book of commands against twin and contacts."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from fleet.errors import CommandIdReused, InvalidRequest, NotFound
from fleet.ids import COMMAND_ID_PATTERN
from fleet.model.address import Place
from fleet.model.capability import Held
from fleet.model.command import Command, CommandState, FieldOutcome
from fleet.model.event import CommandChanged
from fleet.model.inputs import CancelCommand, CloseUnknown, RequestWrite
from fleet.model.moment import Moment
from fleet.model.observation import Answer, CommandAnswer, SettingsReport
from fleet.model.quality import Quality
from fleet.model.settings import Cause
from fleet.state.command_life import TRIGGER_OF_ANSWER, Trigger
from fleet.state.commands import IN_FLIGHT, SEND_WITHIN_US, WAITING, CommandBook, Limits, Tracked
from fleet.state.contacts import ContactBook
from fleet.state.requests import check_request
from fleet.state.twin import Reported, Twin, same_value
from fleet.topology import Topology

_COMMAND_ID = re.compile(COMMAND_ID_PATTERN)
READ_AGAIN_AFTER_US = 5_000_000
"""While an outcome is unknown the settings are read again at this interval; common practice."""
READ_DONE_AFTER_US = 300_000
"""How long after "done" the report may take before the settings are read; common practice."""
SETTLED_BY_READING = "settled by reading the settings again"
READ_SETTLES = WAITING | {CommandState.UNKNOWN}
"""States that a complete report with the desired values ends, such as the one of a new connection: what it shows must
not be lost to whoever changes the same settings next."""


class CommandDesk:
    """Decides what becomes of each command.

    ``pack_answers`` tells whether the return link of a pack is good enough to believe what is read of the pack.
    """

    def __init__(self, twin: Twin, contacts: ContactBook, pack_answers: Callable[[str, str, Moment], bool]) -> None:
        self.book = CommandBook()
        self._twin = twin
        self._contacts = contacts
        self._pack_answers = pack_answers

    def request(
        self, at: Moment, person: str, act: RequestWrite, topology: Topology, read_only: bool
    ) -> tuple[CommandChanged, ...]:
        """Take a request in, or raise and change nothing. A repeated id within ten minutes does nothing."""
        if self._is_repeat(act):
            return ()
        if _COMMAND_ID.fullmatch(act.command_id) is None:
            raise InvalidRequest("a command's id has 1 to 64 letters, digits, hyphens and underscores")
        reported = self._twin.get(act.target)
        check_request(act, topology, reported, read_only)
        seen = {} if reported is None else {name: reported.settings.get(name, "") for name in act.changes}
        limits = _limits(topology, act)
        may_go_us = max(at.monotonic_us, self.book.may_write_from_us(act.target, limits.fastest_us))
        command = Command(
            command_id=act.command_id,
            target=act.target,
            device_id=topology.device_of[act.target],
            changes=dict(act.changes),
            revision=act.revision,
            requested_by=person,
            requested_utc_us=at.utc_us,
            state=CommandState.REQUESTED,
            changed_utc_us=at.utc_us,
            deadline_monotonic_us=may_go_us + SEND_WITHIN_US,
        )
        added = self.book.add(at, Tracked(command, limits, seen))
        return (added, *self._supersede(at, command), *self.send_ready(at))

    def _is_repeat(self, act: RequestWrite) -> bool:
        known = self.book.get(act.command_id)
        if known is None:
            return False
        command = known.command
        if command.target != act.target or dict(command.changes) != dict(act.changes):
            raise CommandIdReused(act.command_id)
        return True

    def _supersede(self, at: Moment, newer: Command) -> list[CommandChanged]:
        older = [
            tracked.command.command_id
            for tracked in self.book.open(newer.target)
            if tracked.command.command_id != newer.command_id and set(tracked.command.changes) <= set(newer.changes)
        ]
        reason = f"{newer.command_id} asks for the same settings"
        return self._each(at, older, Trigger.SUPERSEDE, reason)

    def cancel(self, at: Moment, person: str, act: CancelCommand) -> tuple[CommandChanged, ...]:
        """Give a command up. One that was sent is for the device to cancel: no event comes of it here."""
        command = self._known(act.command_id).command
        if command.is_terminal:
            raise InvalidRequest(f"{act.command_id} is {command.state.value} and can't be cancelled")
        if command.state is CommandState.UNKNOWN:
            raise InvalidRequest(f"what became of {act.command_id} is unknown; it can be closed with a reason")
        return tuple(self._each(at, [act.command_id], Trigger.CANCEL, f"cancelled by {person}"))

    def device_of(self, command_id: str) -> str:
        """The device that a command is for. Raises NotFound."""
        return self._known(command_id).command.device_id

    def close(self, at: Moment, person: str, act: CloseUnknown) -> tuple[CommandChanged, ...]:
        """A named person closes a command whose outcome nothing can tell."""
        command = self._known(act.command_id).command
        if command.state is not CommandState.UNKNOWN:
            raise InvalidRequest(
                f"{act.command_id} is {command.state.value}; only an unknown outcome is closed by hand"
            )
        if not act.reason.strip():
            raise InvalidRequest("closing an unknown outcome needs a reason")
        return tuple(self._each(at, [act.command_id], Trigger.CLOSE, f"closed by {person}: {act.reason}"))

    def _known(self, command_id: str) -> Tracked:
        tracked = self.book.get(command_id)
        if tracked is None:
            raise NotFound("command", command_id)
        return tracked

    def answer(self, at: Moment, device_id: str, answer: CommandAnswer) -> tuple[CommandChanged, ...]:
        """Take a device's answer in; one to a command that is not its own changes nothing."""
        tracked = self.book.get(answer.command_id)
        if tracked is None or tracked.command.device_id != device_id:
            return ()
        if answer.answer is Answer.DONE:
            tracked.done_us = at.monotonic_us
        event = self.book.step(
            at,
            answer.command_id,
            TRIGGER_OF_ANSWER[answer.answer],
            reason=answer.reason,
            outcomes=_outcomes(tracked.command, answer),
        )
        return () if event is None else (event,)

    def as_own(self, report: SettingsReport) -> SettingsReport:
        """A change by "another client" is our own command's when it bears its id: we asked on an earlier connection."""
        tracked = self.book.get(report.command_id)
        if report.cause is not Cause.OTHER_CLIENT or tracked is None or tracked.command.target != report.address:
            return report
        return replace(report, cause=Cause.COMMAND)

    def reported(self, at: Moment, report: SettingsReport) -> tuple[CommandChanged, ...]:
        """Settle what the twin, after that report, settles; what the device doesn't vouch for settles nothing."""
        events: list[CommandChanged] = []
        for tracked in self.book.open(report.address):
            command = tracked.command
            if not self._twin.holds(command.target, command.changes):
                continue
            if report.command_id == command.command_id and not report.complete:
                events += self._each(at, [command.command_id], Trigger.REPORTED, "")
            elif report.complete and command.state in READ_SETTLES and report.quality is Quality.GOOD:
                events += self._each(at, [command.command_id], Trigger.READ_EQUAL, SETTLED_BY_READING)
        return tuple(events)

    def read_back(self, at: Moment, address: str, topology: Topology) -> tuple[CommandChanged, ...]:
        """Settle commands by settings that were read again."""
        events: list[CommandChanged] = []
        for tracked in self.book.open(address):
            command = tracked.command
            if not self._is_conclusive(at, command, topology):
                continue
            tracked.may_have_missed = False
            if self._twin.holds(address, command.changes):
                events += self._each(at, [command.command_id], Trigger.READ_EQUAL, SETTLED_BY_READING)
            else:
                events += self._each(at, [command.command_id], Trigger.READ_DIFFERENT, self._difference(command))
        return tuple(events)

    def _is_conclusive(self, at: Moment, command: Command, topology: Topology) -> bool:
        """A receiver's memory of a pack that it can't reach, or won't vouch for, says nothing of the pack."""
        reported = self._twin.get(command.target)
        if reported is not None and not reported.vouched:
            return False
        capabilities = topology.capabilities.get(command.target, {})
        held = {capabilities[name].held for name in command.changes if name in capabilities}
        if Held.PACK not in held or topology.place_of.get(command.target) is not Place.PACK:
            return True
        return self._pack_answers(command.target, command.device_id, at)

    def _difference(self, command: Command) -> str:
        reported = self._twin.get(command.target)
        settings = {} if reported is None else reported.settings
        others = [
            f"{name} is {settings.get(name)}"
            for name, value in command.changes.items()
            if not same_value(settings.get(name), value)
        ]
        known = reported is not None and reported.revision == command.revision
        doubt = "" if known else "; its settings changed since it was sent, so it may have been applied before that"
        return f"read again: {', '.join(others)}{doubt}"

    def rebooted(self, at: Moment, device_id: str) -> tuple[CommandChanged, ...]:
        """A device started anew: what it waited with is gone or done."""
        ids = [tracked.command.command_id for tracked in self.book.open() if tracked.command.device_id == device_id]
        return tuple(self._each(at, ids, Trigger.REBOOT, f"{device_id} was restarted"))

    def reconnected(self, device_id: str) -> None:
        """Commands of this device whose end may have been missed are due to be read again."""
        for tracked in self.book.open():
            if tracked.command.device_id == device_id:
                tracked.asked_us = None
                tracked.may_have_missed = True

    def tick(self, at: Moment) -> tuple[CommandChanged, ...]:
        """Let every deadline that has passed take effect, and forget what is old."""
        self.book.forget_old(at)
        events: list[CommandChanged] = []
        for tracked in self.book.open():
            if self.book.is_due(at, tracked):
                command = tracked.command
                events += self._each(at, [command.command_id], Trigger.DEADLINE, _deadline_words(command.state))
        return tuple(events)

    def send_ready(self, at: Moment) -> tuple[CommandChanged, ...]:
        """Hand on, in order, what waits for a fresh contact and for the command before it."""
        if self.book.is_idle:
            return ()
        events: list[CommandChanged] = []
        busy = {tracked.command.target for tracked in self.book.open() if tracked.command.state in IN_FLIGHT}
        for tracked in self.book.open():
            command = tracked.command
            if command.state is not CommandState.REQUESTED or command.target in busy:
                continue
            reported = self._twin.get(command.target)
            if reported is None or not reported.current or not self._contacts.is_fresh(command.device_id):
                continue
            if at.monotonic_us < self.book.may_write_from_us(command.target, tracked.limits.fastest_us):
                busy.add(command.target)  # What comes after it keeps its place.
                continue
            trigger = Trigger.SEND if self._is_current(tracked, reported) else Trigger.CONFLICT
            reason = "" if trigger is Trigger.SEND else "its settings were changed before it could be sent"
            events += self._each(at, [command.command_id], trigger, reason)
            if trigger is Trigger.SEND:
                busy.add(command.target)
        return tuple(events)

    def _is_current(self, tracked: Tracked, reported: Reported) -> bool:
        """Whether the write still sees what its writer saw; if only other settings changed, it takes their revision."""
        command = tracked.command
        if reported.revision == command.revision:
            return True
        same_boot = reported.revision.rpartition(".")[0] == command.revision.rpartition(".")[0]
        seen = tracked.seen
        if not same_boot or not all(same_value(reported.settings.get(name), seen[name]) for name in seen):
            return False
        self.book.replace(tracked, replace(command, revision=reported.revision))
        return True

    def read_backs_due(self, at: Moment) -> tuple[str, ...]:
        """The addresses whose settings must be read again now; each is named once per interval."""
        due: dict[str, None] = {}
        for tracked in self.book.open():
            if self._contacts.is_fresh(tracked.command.device_id) and _is_read_due(at, tracked):
                tracked.asked_us = at.monotonic_us
                due[tracked.command.target] = None
        return tuple(due)

    def _each(self, at: Moment, command_ids: list[str], trigger: Trigger, reason: str) -> list[CommandChanged]:
        events = [self.book.step(at, command_id, trigger, reason=reason) for command_id in command_ids]
        return [event for event in events if event is not None]


def _is_read_due(at: Moment, tracked: Tracked) -> bool:
    missed = tracked.command.state in WAITING and tracked.may_have_missed
    if missed or tracked.command.state is CommandState.UNKNOWN:
        return tracked.asked_us is None or at.monotonic_us - tracked.asked_us >= READ_AGAIN_AFTER_US
    if tracked.command.state is not CommandState.ACCEPTED or tracked.done_us is None:
        return False
    return tracked.asked_us is None and at.monotonic_us - tracked.done_us >= READ_DONE_AFTER_US


def _limits(topology: Topology, act: RequestWrite) -> Limits:
    capabilities = [topology.capabilities[act.target][name] for name in act.changes]
    return Limits(
        accept_within_us=1_000 * max(capability.accept_within_ms for capability in capabilities),
        confirm_within_us=1_000 * max(capability.confirm_within_ms for capability in capabilities),
        fastest_us={capability.field: 1_000 * capability.fastest_interval_ms for capability in capabilities},
    )


def _outcomes(command: Command, answer: CommandAnswer) -> tuple[FieldOutcome, ...]:
    if answer.answer not in (Answer.PARTLY_DONE, Answer.REFUSED):
        return ()
    refused = answer.refused_fields
    partly = answer.answer is Answer.PARTLY_DONE
    return tuple(FieldOutcome(name, partly and name not in refused, refused.get(name, "")) for name in command.changes)


def _deadline_words(state: CommandState) -> str:
    if state is CommandState.REQUESTED:
        return "it could not be sent in time; nothing was sent"
    if state is CommandState.SENT:
        return "the device did not say whether it accepts"
    return "the device did not report the outcome in time"
