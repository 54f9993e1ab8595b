"""The clerk who takes commands in, sees them handed on, and writes down what became of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from fleet.errors import CommandIdReused, InvalidRequest, NotFound
from fleet.ids import COMMAND_ID_PATTERN
from fleet.model.act import ActProgress
from fleet.model.capability import ActCapability, Capability
from fleet.model.command import Command, CommandState, FieldOutcome
from fleet.model.event import CommandChanged
from fleet.model.fields import Value
from fleet.model.inputs import CancelCommand, CloseUnknown, RequestAct, RequestWrite
from fleet.model.moment import Moment
from fleet.model.observation import Answer, CommandAnswer, SettingsReport
from fleet.model.settings import Cause
from fleet.state.act_progress import ProgressBook
from fleet.state.act_requests import check_act
from fleet.state.command_life import TRIGGER_OF_ANSWER, Trigger
from fleet.state.commands import IN_FLIGHT, SEND_WITHIN_US, CommandBook, Limits, Tracked
from fleet.state.contacts import ContactBook
from fleet.state.outgoing import Outgoing
from fleet.state.permits import Permits
from fleet.state.requests import check_write, is_guarded
from fleet.state.settling import PackAnswers, Settling
from fleet.state.twin import Twin
from fleet.topology import Topology

CANCEL_AGAIN_AFTER_US = 5_000_000
"""How often a locked device is asked to give a guarded command up; common practice."""
_COMMAND_ID = re.compile(COMMAND_ID_PATTERN)


class CommandClerk:
    """Decides what becomes of each command.

    ``pack_answers`` tells whether the return link of a pack is good enough to believe what is read of the pack.
    """

    def __init__(self, twin: Twin, contacts: ContactBook, permits: Permits, pack_answers: PackAnswers) -> None:
        self.book = CommandBook()
        self.settling = Settling(self.book, twin, contacts, pack_answers)
        self.progress = ProgressBook()
        self._outgoing = Outgoing(self.book, twin, contacts, permits)
        self._twin = twin
        self._permits = permits
        self._contacts = contacts

    def follow(self, topology: Callable[[], Topology]) -> None:
        """From now on what is kept is held against the wiring as it is when it goes out."""
        self._outgoing.topology = topology

    # ------------------------------------------------------------ what people ask

    def write(
        self, at: Moment, person: str, act: RequestWrite, topology: Topology, *, read_only: bool
    ) -> tuple[CommandChanged, ...]:
        """Take a write in, or raise and change nothing. A repeated id within ten minutes does nothing."""
        if self._is_repeat(act.command_id, act.target, "", act.changes):
            return ()
        _require_id(act.command_id)
        capabilities = check_write(act, topology, self._twin, self._permits, read_only=read_only)
        limits = _limits(capabilities)
        settings = self._twin.settings_of(act.target)
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
        seen = {name: settings.get(name, "") for name in act.changes}
        guarded = is_guarded(act.target, act.changes, topology)
        added = self.book.add(at, Tracked(command, limits, seen, guarded=guarded))
        return (added, *self._supersede(at, command), *self.send_ready(at))

    def act(
        self, at: Moment, person: str, act: RequestAct, topology: Topology, *, read_only: bool
    ) -> tuple[CommandChanged, ...]:
        """Take an act in, or raise and change nothing. A repeated id within ten minutes does nothing."""
        _require_id(act.command_id)
        if self._is_repeat(act.command_id, act.target, act.act, None):
            return ()
        checked = check_act(act, topology, self._permits, read_only=read_only)
        command = Command(
            command_id=act.command_id,
            target=act.target,
            device_id=topology.device_of[act.target],
            changes=checked.plain,
            revision="",
            requested_by=person,
            requested_utc_us=at.utc_us,
            state=CommandState.REQUESTED,
            changed_utc_us=at.utc_us,
            deadline_monotonic_us=at.monotonic_us + SEND_WITHIN_US,
            act=act.act,
        )
        added = self.book.add(at, _tracked_act(command, checked.capability, checked.secret))
        return (added, *self.send_ready(at))

    def _is_repeat(self, command_id: str, target: str, act: str, changes: object) -> bool:
        """Whether that was asked for already. Of an act the arguments aren't held against it: some are kept nowhere."""
        known = self.book.get(command_id)
        if known is None:
            return False
        command = known.command
        if (command.target, command.act) != (target, act) or (not act and dict(command.changes) != changes):
            raise CommandIdReused(command_id)
        return True

    def take_secrets(self, command_id: str) -> dict[str, Value]:
        """The secret arguments of an act that is being handed on; they are given once and kept no longer."""
        tracked = self.book.get(command_id)
        if tracked is None:
            return {}
        secrets, tracked.secrets = tracked.secrets, {}
        return secrets

    def _supersede(self, at: Moment, newer: Command) -> tuple[CommandChanged, ...]:
        older = [
            tracked.command.command_id
            for tracked in self.book.open(newer.target)
            if tracked.command.command_id != newer.command_id
            and not tracked.command.act
            and set(tracked.command.changes) <= set(newer.changes)
        ]
        return self.book.each(at, older, Trigger.SUPERSEDE, f"{newer.command_id} asks for the same settings")

    def cancel(self, at: Moment, person: str, act: CancelCommand) -> tuple[CommandChanged, ...]:
        """Give a command up. One that was sent is for the device to cancel: no event comes of it here."""
        tracked = self._known(act.command_id)
        command = tracked.command
        if command.is_terminal:
            raise InvalidRequest(f"{act.command_id} is {command.state.value} and can't be cancelled")
        if command.state is CommandState.UNKNOWN:
            raise InvalidRequest(f"what became of {act.command_id} is unknown; it can be closed with a reason")
        if command.state in IN_FLIGHT and not tracked.cancellable:
            raise InvalidRequest(f"{command.act} can't be given up once {command.device_id} has begun it")
        return self.book.each(at, [act.command_id], Trigger.CANCEL, f"cancelled by {person}")

    def locked(self, device_id: str) -> None:
        """The device was locked again: what is guarded there is to be given up at once, even if that was asked."""
        for tracked in self._of_device(device_id):
            tracked.cancel_asked_us = None

    def cancels_due(self, at: Moment) -> tuple[Command, ...]:
        """Guarded commands that a locked device in contact is to be asked to give up; each again until it ends."""
        if self.book.is_idle:
            return ()
        due = [each for each in self.book.open() if self._is_cancel_due(at, each)]
        for tracked in due:
            tracked.cancel_asked_us = at.monotonic_us
        return tuple(each.command for each in due)

    def _is_cancel_due(self, at: Moment, tracked: Tracked) -> bool:
        command, asked_us = tracked.command, tracked.cancel_asked_us
        if command.state is CommandState.REQUESTED or not self._is_guarded(tracked):
            return False
        if self._permits.unlocked(command.device_id) is not None or not self._contacts.is_fresh(command.device_id):
            return False
        if command.state in IN_FLIGHT and not tracked.cancellable:
            return False
        return asked_us is None or at.monotonic_us - asked_us >= CANCEL_AGAIN_AFTER_US

    def _is_guarded(self, tracked: Tracked) -> bool:
        """Of a command that the journal remembered, the description tells."""
        command, topology = tracked.command, self._outgoing.topology
        if tracked.guarded or topology is None:
            return tracked.guarded
        if not command.act:
            return is_guarded(command.target, command.changes, topology())
        offered = topology().acts.get(command.target, {}).get(command.act)
        return offered is not None and offered.guarded

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
        return self.book.each(at, [act.command_id], Trigger.CLOSE, f"closed by {person}: {act.reason}")

    def _known(self, command_id: str) -> Tracked:
        tracked = self.book.get(command_id)
        if tracked is None:
            raise NotFound("command", command_id)
        return tracked

    # ------------------------------------------------------------ what devices say

    def answer(self, at: Moment, device_id: str, answer: CommandAnswer) -> tuple[CommandChanged, ...]:
        """Take a device's answer in; one to a command that is not its own changes nothing."""
        tracked = self._own(device_id, answer.command_id)
        if tracked is None:
            return ()
        trigger = TRIGGER_OF_ANSWER[answer.answer]
        if answer.answer is Answer.DONE:
            tracked.done_us = at.monotonic_us
            trigger = Trigger.FINISHED if tracked.command.act else trigger
        event = self.book.step(
            at,
            answer.command_id,
            trigger,
            reason=answer.reason,
            outcomes=_outcomes(tracked.command, answer),
            result=answer.result if tracked.command.act else None,
        )
        return () if event is None else (event,)

    def note_progress(self, device_id: str, progress: ActProgress) -> None:
        """Take in how far an act is; of a command that is not the device's own, or has ended, nothing is kept."""
        tracked = self._own(device_id, progress.command_id)
        if tracked is None or not tracked.command.act or tracked.command.is_terminal:
            return
        tracked.command = replace(tracked.command, progress=progress.fraction)
        self.progress.note(progress)

    def _own(self, device_id: str, command_id: str) -> Tracked | None:
        tracked = self.book.get(command_id)
        return tracked if tracked is not None and tracked.command.device_id == device_id else None

    def as_own(self, report: SettingsReport) -> SettingsReport:
        """A change by "another client" is our own command's when it bears its id: we asked on an earlier connection."""
        tracked = self.book.get(report.command_id)
        if report.cause is not Cause.OTHER_CLIENT or tracked is None or tracked.command.target != report.address:
            return report
        return replace(report, cause=Cause.COMMAND)

    def rebooted(self, at: Moment, device_id: str) -> tuple[CommandChanged, ...]:
        """A device started anew: what it waited with is gone or done."""
        ids = [tracked.command.command_id for tracked in self._of_device(device_id)]
        return self.book.each(at, ids, Trigger.REBOOT, f"{device_id} was restarted")

    def cut_off(self, at: Moment, device_id: str) -> tuple[CommandChanged, ...]:
        """The contact with a device ended: what became of acts under way can't be known any more."""
        ids = [tracked.command.command_id for tracked in self._of_device(device_id) if tracked.command.act]
        return self.book.each(at, ids, Trigger.CUT_OFF, "the contact ended before its outcome was told")

    def _of_device(self, device_id: str) -> list[Tracked]:
        return [tracked for tracked in self.book.open() if tracked.command.device_id == device_id]

    # ------------------------------------------------------------ time

    def tick(self, at: Moment) -> tuple[CommandChanged, ...]:
        """Let every deadline that has passed take effect, and forget what is old."""
        self.book.forget_old(at)
        events: list[CommandChanged] = []
        for tracked in self.book.open():
            if self.book.is_due(at, tracked):
                command = tracked.command
                events += self.book.each(at, [command.command_id], Trigger.DEADLINE, _deadline_words(command))
        return tuple(events)

    def send_ready(self, at: Moment) -> tuple[CommandChanged, ...]:
        """Hand on, in order, what waits for a fresh contact and for the command before it."""
        return self._outgoing.send_ready(at)


def _require_id(command_id: str) -> None:
    if _COMMAND_ID.fullmatch(command_id) is None:
        raise InvalidRequest("a command's id has 1 to 64 letters, digits, hyphens and underscores")


def _tracked_act(command: Command, capability: ActCapability, secret: dict[str, Value]) -> Tracked:
    limits = Limits(1_000 * capability.accept_within_ms, 1_000 * capability.finish_within_ms)
    return Tracked(command, limits, secrets=secret, guarded=capability.guarded, cancellable=capability.cancellable)


def _limits(capabilities: tuple[Capability, ...]) -> Limits:
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


def _deadline_words(command: Command) -> str:
    if command.state is CommandState.REQUESTED:
        return "it could not be sent in time; nothing was sent"
    if command.state is CommandState.SENT:
        return "the device did not say whether it accepts"
    return f"the device did not {'end it' if command.act else 'report the outcome'} in time"
