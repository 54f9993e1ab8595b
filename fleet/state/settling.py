"""Settles commands by what their devices report and by settings that are read again."""

from __future__ import annotations

from collections.abc import Callable

from fleet.model.address import Place, parse_address
from fleet.model.capability import Held
from fleet.model.command import Command, CommandState
from fleet.model.event import CommandChanged
from fleet.model.fields import same_value
from fleet.model.moment import Moment
from fleet.model.observation import SettingsReport
from fleet.model.quality import Quality
from fleet.state.command_life import Trigger
from fleet.state.commands import WAITING, CommandBook, Tracked
from fleet.state.contacts import ContactBook
from fleet.state.twin import Twin
from fleet.topology import Topology

READ_AGAIN_AFTER_US = 5_000_000
"""While an outcome is unknown the settings are read again at this interval; common practice."""
READ_DONE_AFTER_US = 300_000
"""How long after "done" the report may take before the settings are read; common practice."""
SETTLED_BY_READING = "settled by reading the settings again"
READ_SETTLES = WAITING | {CommandState.UNKNOWN}
"""States that a complete report with the desired values ends, such as the one of a new connection: what it shows must
not be lost to whoever changes the same settings next."""
PackAnswers = Callable[[str, str, Moment], bool]


class Settling:
    """Holds open writes against the twin; of acts it knows nothing, for nobody can read one back."""

    def __init__(self, book: CommandBook, twin: Twin, contacts: ContactBook, pack_answers: PackAnswers) -> None:
        self._book = book
        self._twin = twin
        self._contacts = contacts
        self._pack_answers = pack_answers

    def _writes(self, address: str | None = None) -> list[Tracked]:
        return [tracked for tracked in self._book.open(address) if not tracked.command.act]

    def reported(self, at: Moment, report: SettingsReport) -> tuple[CommandChanged, ...]:
        """Settle what the twin, after that report, settles; what the device doesn't vouch for settles nothing.

        Nor does what a device remembers of a pack that doesn't answer: that is left to a reading that is asked for.
        """
        events: list[CommandChanged] = []
        for tracked in self._writes(report.address):
            command = tracked.command
            if not self._twin.holds(command.target, command.changes):
                continue
            if report.command_id == command.command_id and not report.complete:
                events += self._book.each(at, [command.command_id], Trigger.REPORTED, "")
            elif report.complete and command.state in READ_SETTLES and self._is_first_hand(at, command, report):
                events += self._book.each(at, [command.command_id], Trigger.READ_EQUAL, SETTLED_BY_READING)
        return tuple(events)

    def _is_first_hand(self, at: Moment, command: Command, report: SettingsReport) -> bool:
        """Whether the device vouches for what it reports, and, of a pack, is in touch with it."""
        if report.quality is not Quality.GOOD:
            return False
        is_pack = parse_address(command.target).place is Place.PACK
        return not is_pack or self._pack_answers(command.target, command.device_id, at)

    def read_back(self, at: Moment, address: str, topology: Topology) -> tuple[CommandChanged, ...]:
        """Settle commands by settings that were read again."""
        events: list[CommandChanged] = []
        for tracked in self._writes(address):
            command = tracked.command
            if not self._is_conclusive(at, command, topology):
                continue
            tracked.may_have_missed = False
            if self._twin.holds(address, command.changes):
                events += self._book.each(at, [command.command_id], Trigger.READ_EQUAL, SETTLED_BY_READING)
            else:
                reason = self._difference(command)
                events += self._book.each(at, [command.command_id], Trigger.READ_DIFFERENT, reason)
        return tuple(events)

    def _is_conclusive(self, at: Moment, command: Command, topology: Topology) -> bool:
        """A receiver's memory of a pack that it can't reach, or won't vouch for, says nothing of the pack."""
        reported = self._twin.get(command.target)
        if reported is not None and not reported.vouched:
            return False
        capabilities = topology.capabilities.get(command.target, {})
        held = {each.held for name in command.changes for each in capabilities.get(name, ())}
        if Held.PACK not in held or topology.place_of.get(command.target) is not Place.PACK:
            return True
        return self._pack_answers(command.target, command.device_id, at)

    def _difference(self, command: Command) -> str:
        settings = self._twin.settings_of(command.target)
        others = [
            f"{name} is {settings.get(name)}"
            for name, value in command.changes.items()
            if not same_value(settings.get(name), value)
        ]
        known = self._twin.revision_of(command.target) == command.revision
        doubt = "" if known else "; its settings changed since it was sent, so it may have been applied before that"
        return f"read again: {', '.join(others)}{doubt}"

    def reconnected(self, device_id: str) -> None:
        """Writes of this device whose end may have been missed are due to be read again."""
        for tracked in self._writes():
            if tracked.command.device_id == device_id:
                tracked.asked_us = None
                tracked.may_have_missed = True

    def read_backs_due(self, at: Moment) -> tuple[str, ...]:
        """The addresses whose settings must be read again now; each is named once per interval."""
        if self._book.is_idle:
            return ()
        due: dict[str, None] = {}
        for tracked in self._writes():
            if self._contacts.is_fresh(tracked.command.device_id) and _is_read_due(at, tracked):
                tracked.asked_us = at.monotonic_us
                due[tracked.command.target] = None
        return tuple(due)


def _is_read_due(at: Moment, tracked: Tracked) -> bool:
    missed = tracked.command.state in WAITING and tracked.may_have_missed
    if missed or tracked.command.state is CommandState.UNKNOWN:
        return tracked.asked_us is None or at.monotonic_us - tracked.asked_us >= READ_AGAIN_AFTER_US
    if tracked.command.state is not CommandState.ACCEPTED or tracked.done_us is None:
        return False
    return tracked.asked_us is None and at.monotonic_us - tracked.done_us >= READ_DONE_AFTER_US
