"""The live picture of the whole fleet, and its only writer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from fleet.errors import InvalidRequest, NotFound
from fleet.model.address import Place
from fleet.model.command import Command
from fleet.model.device import ContactState, DeviceDescription, DeviceView
from fleet.model.event import CommandChanged, ContactChanged, DeviceDescribed, Event, NoticeReceived
from fleet.model.fields import Value
from fleet.model.inputs import CancelCommand, LockDevice, RequestAct, RequestWrite, TakeLease, UnlockDevice
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation, SettingsReport
from fleet.model.production import Production
from fleet.model.quality import Quality
from fleet.model.settings import Desired, SettingsView
from fleet.readings import ROWS_MAXIMUM, LiveTables
from fleet.row_map import RowMap
from fleet.state.clerk import CommandClerk
from fleet.state.contacts import OUT_OF_CONTACT, ContactBook
from fleet.state.exact import ExactReadings
from fleet.state.frames import FrameWriter
from fleet.state.notices import NoticeBook
from fleet.state.permits import Permits
from fleet.state.requests import position_now
from fleet.state.shape import Shape
from fleet.state.twin import Twin
from fleet.state.watching import Watching
from fleet.topology import Topology

PACK_ANSWERS_FROM = 0.9
"""The share of answered requests from which what is read of a pack is believed; common practice."""
PACK_LINK_JUDGED_AFTER_US = 10_000_000
"""The return link is a share over ten seconds: so long a connection must have lasted to do without it."""
VOUCH_AGAIN_AFTER_US = 2_000_000
"""How often settings are read again that the device repeated from memory, once it should know; common practice."""
NAMED_IN_A_NOTICE = 5


class FleetState:
    """Columns, twin, exact readings, contacts and commands of all devices."""

    def __init__(self) -> None:
        self.tables = LiveTables()
        self.contacts = ContactBook()
        self.exact = ExactReadings()
        self._twin = Twin()
        self._shape = Shape(self.tables)
        self.permits = Permits()
        self.clerk = CommandClerk(self._twin, self.contacts, self.permits, self._pack_answers)
        self._frames = FrameWriter(self.tables)
        self._notices = NoticeBook()
        self.watching = Watching(self.contacts, self._shape, self._twin, self.exact, self._frames)
        self._refused: dict[str, str] = {}
        self._disputed: dict[str, tuple[str, ...]] = {}
        self._without_room: set[str] = set()

    def may_be(self, address: str, watched: frozenset[str]) -> bool:
        """Whether something is at that address, or may yet be described there by a device that is watched."""
        return self._shape.may_be(address, watched)

    @property
    def topology(self) -> Topology:
        """The fleet's wiring as it is now."""
        return self._shape.topology

    @property
    def row_map(self) -> RowMap:
        """The wiring as index arrays over the tables' rows."""
        return self.watching.row_map()

    @property
    def production(self) -> Production:
        """The production in place."""
        return self._shape.production

    def set_production(self, production: Production) -> None:
        """Put another production in place."""
        self._shape.set_production(production)

    def contact(self, contact: Contact) -> tuple[Event, ...]:
        """Take in a change of contact, a heartbeat, or a description; a device without room for a row is left out."""
        device_id = contact.device_id
        devices = self.tables[Place.DEVICE]
        if devices.row_of(device_id) is None and len(devices) >= ROWS_MAXIMUM:
            return self._no_room(contact)
        described = self._describe(contact.at, device_id, contact.description)
        refused = self._refused.get(device_id)
        if refused is not None and contact.state in (ContactState.FRESH, ContactState.LATE):
            contact = replace(contact, state=ContactState.BAD, reason=refused)
        step = self.contacts.step(contact)
        events: list[Event] = []
        if step.new_epoch:
            self.exact.withdraw(self._shape.addresses_of(device_id))
        if step.changed:
            self.tables.append([(Place.DEVICE, device_id)])
            self._contact_turned(device_id)
            events.append(ContactChanged(contact.at, step.status))
        if step.new_epoch:
            self._frames.forget_layouts(device_id)
            self._twin.outdate(self._shape.addresses_of(device_id))
            self.clerk.settling.reconnected(device_id)
        if step.new_epoch or (step.changed and step.status.state in OUT_OF_CONTACT):
            events += self.clerk.cut_off(contact.at, device_id)
            events += self.permits.hear_lease(contact.at, device_id, None)
        if step.rebooted:
            events += self.clerk.rebooted(contact.at, device_id)
        events += described
        events += self.clerk.send_ready(contact.at)
        return tuple(events)

    def _no_room(self, contact: Contact) -> tuple[Event, ...]:
        """Say once of each address that what is reached there was left out."""
        reached_at = contact.reached_through or contact.device_id
        if reached_at in self._without_room:
            return ()
        self._without_room.add(reached_at)
        words = (
            f"{contact.device_id} is left out: the console has rows for {ROWS_MAXIMUM} devices until it starts again"
        )
        return self._notices.notice(contact.at, reached_at, "device-left-out", words)

    def _contact_turned(self, device_id: str) -> None:
        """What waits is written first; unless the contact is fresh nothing stays good."""
        fresh = self.contacts.is_fresh(device_id)
        self._frames.flush(self.contacts.is_fresh, device_id)
        self._twin.touched.update(self._shape.addresses_of(device_id))
        if not fresh:
            self._shape.doubt(device_id)
        turn = self.exact.release if self.contacts.may_go_on(device_id) else self.exact.withdraw
        turn(self._shape.addresses_of(device_id))

    def _describe(self, at: Moment, device_id: str, description: DeviceDescription | None) -> Iterable[Event]:
        """Believe a description, or remember why not: the device counts as bad until it gives a better one."""
        if description is None:
            return ()
        self._refused.pop(device_id, None)
        before = self._shape.addresses_of(device_id)
        described = self._shape.describe(device_id, description)
        if described.refused is not None:
            self._refused[device_id] = f"its description can't be believed: {described.refused}"
            return self._notices.notice(at, device_id, "description-refused", described.refused)
        events = [*self._dispute(at, device_id, described.disputed)]
        believed = self._shape.description(device_id)
        if described.changed and believed is not None:
            gone = [address for address in before if address not in self._shape.holders]
            self._twin.outdate(gone)
            self.exact.withdraw(gone)
            self._frames.forget_layouts(device_id)
            events.append(DeviceDescribed(at, believed))
        return events

    def _dispute(self, at: Moment, device_id: str, packs: tuple[str, ...]) -> Iterable[Event]:
        """Say which packs of a description another device holds; once, until they are others."""
        if packs == self._disputed.get(device_id, ()):
            return ()
        self._disputed[device_id] = packs
        held = [f"{pack}, which {self._shape.holders[pack]} holds" for pack in packs]
        return self._left_out(at, device_id, "packs-disputed", held)

    def observe(self, observation: Observation) -> tuple[Event, ...]:
        """Take in everything that one message says."""
        at, device_id = observation.at, observation.device_id
        events: list[Event] = []
        if observation.frame is not None:
            measured_us = at.monotonic_us - observation.frame.age_us
            unknown = self._frames.take(device_id, measured_us, observation.frame, self._shape.holders)
            if unknown:
                events += self._left_out(at, device_id, "readings-unknown", unknown)
        if not _says_more(observation):
            return tuple(events)
        for address, values in observation.exact.items():
            events += self._take_exact(at, device_id, address, values)
        for report in observation.reports:
            events += self._take_report(at, device_id, report, asked_for=report.address in observation.read_back)
        events += self._take_answers(observation)
        for address in observation.read_back:
            if self._shape.holders.get(address) == device_id:
                events += self.clerk.settling.read_back(at, address, self.topology)
        for notice in observation.notices:
            events += self._notices.notice(at, device_id, notice.code, notice.words)
        events += self.clerk.send_ready(at)
        return tuple(events)

    def _take_answers(self, observation: Observation) -> list[Event]:
        at, device_id = observation.at, observation.device_id
        events: list[Event] = []
        for answer in observation.answers:
            events += self.clerk.answer(at, device_id, answer)
        for progress in observation.progress:
            self.clerk.note_progress(device_id, progress)
        if observation.lease is not None and device_id in self._shape.holders:
            events += self.permits.hear_lease(at, device_id, observation.lease)
        return events

    def _take_exact(
        self, at: Moment, device_id: str, address: str, values: Mapping[str, Value | None]
    ) -> Iterable[Event]:
        if self._shape.holders.get(address) != device_id:
            return self._left_out(at, device_id, "readings-unknown", [address])
        in_contact = self.contacts.may_go_on(device_id)
        refused = self.exact.report(self.topology.place_of[address], address, values, in_contact=in_contact)
        return self._left_out(at, device_id, "readings-unknown", [f"{address} {name}" for name in refused])

    def _take_report(self, at: Moment, device_id: str, report: SettingsReport, *, asked_for: bool) -> list[Event]:
        if self._shape.holders.get(report.address) != device_id:
            return [*self._left_out(at, device_id, "settings-unknown", [report.address])]
        changed = self._twin.report(at, device_id, self.clerk.as_own(report))
        if changed and device_id in self.topology.conditional:
            self._twin.touched.update(self._shape.addresses_of(device_id))
        return [*changed, *(() if asked_for else self.clerk.settling.reported(at, report))]

    def _left_out(self, at: Moment, device_id: str, code: str, names: Sequence[str]) -> Iterable[Event]:
        if not names:
            return ()
        more = f" and {len(names) - NAMED_IN_A_NOTICE} more" if len(names) > NAMED_IN_A_NOTICE else ""
        return self._notices.notice(at, device_id, code, f"left out: {', '.join(names[:NAMED_IN_A_NOTICE])}{more}")

    def tick(self, at: Moment) -> tuple[Event, ...]:
        """Write what waits, let values grow old, and let deadlines take effect."""
        self._frames.flush(self.contacts.is_fresh)
        self.tables.age(at)
        self._write_contact_ages(at)
        locked = self.permits.tick(at)
        for event in locked:
            self.clerk.locked(event.device_id)
        return (*locked, *self.clerk.tick(at), *self.clerk.send_ready(at))

    def _write_contact_ages(self, at: Moment) -> None:
        ages_s, qualities = self.contacts.ages_s(at)
        self.tables[Place.DEVICE].write_column("contact_age_s", ages_s, qualities, at.monotonic_us)

    # Commands.

    def request(self, at: Moment, person: str, act: RequestWrite | RequestAct) -> tuple[CommandChanged, ...]:
        """Ask for settings to change, or for an act. Raises as ``check_write`` and ``check_act`` do."""
        holder = self._shape.description(self._shape.holders.get(act.target, ""))
        read_only = holder is not None and holder.read_only
        if isinstance(act, RequestAct):
            return self.clerk.act(at, person, act, self.topology, read_only=read_only)
        return self.clerk.write(at, person, act, self.topology, read_only=read_only)

    def unlock(self, at: Moment, person: str, act: UnlockDevice) -> tuple[Event, ...]:
        """Unlock what is guarded at a device. Raises NotFound or InvalidRequest."""
        described = self._described(act.device_id)
        guarded = [each.guarded for each in described.capabilities] + [each.guarded for each in described.acts]
        if not any(guarded):
            raise InvalidRequest(f"nothing of {act.device_id} is guarded")
        return (self.permits.unlock(at, person, act),)

    def lock(self, at: Moment, person: str, act: LockDevice) -> tuple[Event, ...]:
        """Lock what is guarded at a device. Raises NotFound."""
        self._described(act.device_id)
        self.clerk.locked(act.device_id)
        return self.permits.lock(at, person, act)

    def ask_for_lease(self, at: Moment, person: str, act: TakeLease) -> tuple[Event, ...]:
        """Say who takes the lease of a device; what comes of it the device tells. Raises NotFound or InvalidRequest."""
        self._described(act.device_id)
        if self.permits.lease(act.device_id) is None:
            raise InvalidRequest(f"{act.device_id} has no lease to take, or isn't in contact")
        return (NoticeReceived(at, act.device_id, "lease-asked", f"{person} takes the lease of {act.device_id}"),)

    def _described(self, device_id: str) -> DeviceDescription:
        description = self._shape.description(device_id)
        if description is None:
            raise NotFound("device that was heard", device_id)
        return description

    def cancel(self, at: Moment, person: str, act: CancelCommand) -> tuple[Event, ...]:
        """Give a command up; of one that was sent, say who asked. Raises NotFound or InvalidRequest."""
        ended = self.clerk.cancel(at, person, act)
        if ended:
            return (*ended, *self.clerk.send_ready(at))
        device_id = self.clerk.device_of(act.command_id)
        return (NoticeReceived(at, device_id, "cancel-asked", f"{person} asks to give up {act.command_id}"),)

    def restore(self, at: Moment, commands: Iterable[Command]) -> tuple[CommandChanged, ...]:
        """Take in what the journal remembers."""
        return tuple(event for command in commands for event in self.clerk.book.restore(at, command))

    def mark_unrecorded(self, command_id: str) -> None:
        """The journal could not take this command before it was sent."""
        self.clerk.book.mark_unrecorded(command_id)

    def read_backs_due(self, at: Moment) -> tuple[str, ...]:
        """The addresses whose settings must be read again now: to settle a command, or because nobody vouched yet."""
        due = dict.fromkeys((*self.clerk.settling.read_backs_due(at), *self._unvouched_due(at)))
        return tuple(address for address in due if address in self._shape.holders)

    def _unvouched_due(self, at: Moment) -> list[str]:
        due = []
        for address, asked_us in self._twin.unvouched.items():
            holder = self._shape.holders.get(address, "")
            waits = asked_us is not None and at.monotonic_us - asked_us < VOUCH_AGAIN_AFTER_US
            if not waits and self.contacts.is_fresh(holder) and self._answers(address, holder, at):
                due.append(address)
        self._twin.unvouched.update(dict.fromkeys(due, at.monotonic_us))
        return due

    def _answers(self, address: str, holder: str, at: Moment) -> bool:
        is_pack = self.topology.place_of.get(address) is Place.PACK
        return not is_pack or self._pack_answers(address, holder, at)

    def _pack_answers(self, pack: str, device_id: str, at: Moment) -> bool:
        """Whether what is read of a pack is the pack's own word and not the receiver's memory of it."""
        self._frames.flush(self.contacts.is_fresh, device_id)
        table = self.tables[Place.PACK]
        row, column = table.row_of(pack), table.column_of["return_link"]
        if row is None or table.qualities[column, row] == Quality.ABSENT:
            return self.contacts.fresh_for_us(device_id, at) >= PACK_LINK_JUDGED_AFTER_US
        return bool(table.qualities[column, row] == Quality.GOOD and table.values[column, row] >= PACK_ANSWERS_FROM)

    # Views.

    def commands(self) -> tuple[Command, ...]:
        """The commands that are open or were asked for within ten minutes."""
        return self.clerk.book.all()

    def command(self, command_id: str) -> Command | None:
        """That command, or None when it is unknown or forgotten."""
        tracked = self.clerk.book.get(command_id)
        return None if tracked is None else tracked.command

    def devices(self) -> tuple[DeviceView, ...]:
        """All devices, in the order in which they were first tried."""
        return tuple(
            DeviceView(
                status.device_id,
                status,
                self._shape.description(status.device_id),
                self.permits.lease(status.device_id),
                self.permits.unlocked(status.device_id),
                self.watching.origin(status.device_id),
            )
            for status in self.contacts.statuses()
        )

    def settings(self, address: str) -> SettingsView:
        """The settings of one address.

        Raises NotFound when no device holds it.
        """
        holder = self._shape.holders.get(address)
        if holder is None:
            raise NotFound("thing with settings", address)
        desired = tuple(
            Desired(name, value, tracked.command.command_id)
            for tracked in self.clerk.book.open(address)
            if not tracked.command.act
            for name, value in tracked.command.changes.items()
        )
        reported = self._twin.get(address)
        if reported is None:
            return SettingsView(address, "", holder, Quality.ABSENT, {}, desired)
        revision = self._twin.revision_of(address)
        good = reported.current and reported.vouched and self.contacts.is_fresh(holder)
        quality = Quality.GOOD if good else Quality.UNCERTAIN
        in_force = self._in_force(address)
        return SettingsView(address, revision, holder, quality, dict(reported.settings), desired, in_force)

    def _in_force(self, address: str) -> dict[str, int]:
        """Of each setting that is there now, which capability of the device's description is in force."""
        numbers = self.topology.numbers.get(address, {})
        found = {name: position_now(address, name, self.topology, self._twin) for name in numbers}
        return {name: numbers[name][position] for name, position in found.items() if position is not None}

    def all_settings(self) -> tuple[SettingsView, ...]:
        """The settings of every address that a device holds."""
        return tuple(self.settings(address) for address in self._shape.holders)

    def settings_changes(self) -> tuple[SettingsView, ...]:
        """Settings of which anything shown has changed since the last call."""
        touched = self._twin.touched | self.clerk.book.touched
        self._twin.touched, self.clerk.book.touched = set(), set()
        return tuple(self.settings(address) for address in sorted(touched) if address in self._shape.holders)


def _says_more(observation: Observation) -> bool:
    """Whether there is more in it than a frame of readings, which is all that most messages hold."""
    return bool(
        observation.exact
        or observation.reports
        or observation.answers
        or observation.read_back
        or observation.notices
        or observation.progress
        or observation.lease
    )
