"""A console that stands still: two devices of the invented production, and answers to what is asked of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from fleet.clock import Clock
from fleet.errors import (
    CommandIdReused,
    InvalidDocument,
    InvalidRequest,
    NotFound,
    RedpollError,
    RevisionMissing,
    RevisionStale,
    ValueRefused,
)
from fleet.feed import Feed, Subscription, View
from fleet.model.act import LevelStretch, ProgressView, ScanLevels
from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.capability import problem_with
from fleet.model.command import Command, CommandState
from fleet.model.device import (
    ContactState,
    ContactStatus,
    DeviceView,
    Unlocked,
)
from fleet.model.document import DocumentRevision
from fleet.model.event import CommandChanged, ConsoleStarted, Event, Recorded
from fleet.model.fields import Value, column_fields
from fleet.model.inputs import (
    Acknowledge,
    Act,
    CancelCommand,
    CloseUnknown,
    LockDevice,
    RequestAct,
    RequestWrite,
    ShowClock,
    TakeLease,
    UnlockDevice,
)
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.quality import Quality
from fleet.model.rule import Rule, Side
from fleet.model.settings import SettingsView
from fleet.model.show import ShowPlace
from fleet.model.snapshot import ColumnView, JournalStatus, Snapshot, TableView
from fleet.model.vitals import DeviceTraffic, Vitals
from fleet.model.zone import AcceptZone, OfferZone, ReleaseZone, TakeZone, ZoneWriter
from fleet.plans import Plans
from fleet.readings import LiveTables
from fleet.surveys import Surveys
from tests.api.fake_facts import PACK, PRODUCTION, SCHEMAS, SETTINGS, FakeReader, FakeTable, describe
from tests.api.fake_plans import FakeDocuments, FakeJobs
from tests.api.fake_retunes import FakeRetunes
from tests.api.fake_roster import FakeRoster


class FakePicture:
    """What the feed shows of this console: its snapshot, one row a table, no past."""

    def __init__(self, console: FakeConsole) -> None:
        self._console = console
        self.tables = LiveTables()
        self.tables.append([(place, row) for place in Place for row in console.table(place).addresses])

    def snapshot(self) -> Snapshot:
        return self._console.snapshot()

    def recent_past(self, cells: int) -> FakePast:
        return FakePast(cells)

    def ahead(self) -> Ahead:
        return self._console.now_ahead

    def matters(self) -> tuple[Matter, ...]:
        return self._console.snapshot().matters

    def changed_settings(self) -> tuple[SettingsView, ...]:
        return ()

    def act_progress(self) -> Mapping[str, ProgressView]:
        return {}

    def exact_changes(self) -> Mapping[str, Mapping[str, Value | None]]:
        return {}


class FakePast:
    """One row that never reported."""

    def __init__(self, cells: int) -> None:
        self.median_dbm = self.worst_dbm = np.full((1, cells), np.nan)
        self.damage = self.speech = self.reported = np.zeros((1, cells))
        self.deaf = np.zeros((1, cells), dtype=np.uint8)


class FakeConsole:
    """Keeps settings by address with a counted revision, as a device would, and journals each command."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.reader = FakeReader([Recorded(1, ConsoleStarted(self.now(), 1, "0.1.0"))])
        self.values: dict[str, Value] = dict(SETTINGS)
        self.revision = 1
        self.known_commands: dict[str, Command] = {}
        self.standing_alarms: tuple[Alarm, ...] = (
            Alarm("weak-rf:house-1/carrier/1", "weak-rf", "house-1/carrier/1", AlarmState.UNACKNOWLEDGED, 2, 1, 2, {}),
        )
        self.rule_set: tuple[Rule, ...] = (
            Rule("weak-rf", Place.CARRIER, "better_branch_margin_db", Side.BELOW, 15.0, 5.0, 1.0, 3.0, 2),
        )
        self.rule_revision = 0
        self.now_ahead = Ahead()
        self.asked_moves: list[ShowClock] = []
        self.now_production, self.production_revision = PRODUCTION, 3
        self.kept_productions = [(3, "start-up", PRODUCTION)]
        self.rule_changed_by = ""
        self.forgets_acknowledged = False
        self.fails_with: RedpollError | None = None
        self.retried: list[str] = []
        self.roster = FakeRoster()
        self.documents = FakeDocuments()
        self.jobs = FakeJobs()
        self.retuner = FakeRetunes()
        self.plans = Plans(self.documents, self.jobs, self)
        self.surveys = Surveys(self.documents, self.jobs, self)
        self.zone_writers: tuple[ZoneWriter, ...] = ()
        self.zone_asked: list[tuple[str, Act]] = []
        self.screens: list[tuple[str, bool]] = []
        self.noted: list[Event] = []
        self.asked: list[Act] = []
        self.journal_writable = True
        self.loop_lag_s = 0.01
        self.contact_state = ContactState.FRESH
        self.other_contact_state = ContactState.CONNECTING
        self.feed = Feed(FakePicture(self), 1, self._missed)

    def now(self) -> Moment:
        return Moment(self.clock.monotonic_us(), self.clock.utc_us())

    def snapshot(self) -> Snapshot:
        contact = ContactStatus("house-1", self.contact_state, 1, 2)
        return Snapshot(
            epoch=1,
            sequence=self.reader.kept[-1].sequence,
            at_utc_us=self.clock.utc_us(),
            production=self.now_production,
            production_revision=self.production_revision,
            ahead=self.now_ahead,
            devices=(
                DeviceView("house-1", contact, describe("house-1", PACK)),
                DeviceView("quay-1", ContactStatus("quay-1", self.other_contact_state, 1)),
            ),
            tables=tuple(self._table_view(place) for place in Place),
            settings=(self.settings(PACK),),
            exact={"house-1/channel/1": {"identity": PACK}},
            commands=tuple(self.known_commands.values()),
            alarms=self.standing_alarms,
            matters=(
                Matter("weak-rf:1", "weak-rf", "house-1/carrier/1", ("house-1/channel/1",), (), 2, 1, {}, False, False),
            ),
            journal=JournalStatus(self.journal_writable, 1, 0),
        )

    def journal_status(self) -> JournalStatus:
        return self.snapshot().journal

    def vitals(self) -> Vitals:
        traffic = DeviceTraffic("house-1", 40, 30, 4, 0.25)
        return Vitals((traffic,), 100, 0.002, self.loop_lag_s, 7, 1, 2, 3, self.feed.subscriptions, self.feed.waiting)

    def devices(self) -> tuple[DeviceView, ...]:
        return self.snapshot().devices

    def device(self, device_id: str) -> DeviceView:
        for device in self.devices():
            if device.device_id == device_id:
                return device
        raise NotFound("device", device_id)

    def levels(self, command_id: str) -> ScanLevels:
        self.command(command_id)
        return ScanLevels(command_id, (LevelStretch(470_000_000, 25_000, 25_000, (-101.5, None)),))

    def alarms(self) -> tuple[Alarm, ...]:
        return self.standing_alarms

    def commands(self) -> tuple[Command, ...]:
        return tuple(self.known_commands.values())

    def command(self, command_id: str) -> Command:
        if command_id not in self.known_commands:
            raise NotFound("command", command_id)
        return self.known_commands[command_id]

    def ahead(self) -> Ahead:
        return self.now_ahead

    def matters(self) -> tuple[Matter, ...]:
        return self.snapshot().matters

    def _table_view(self, place: Place) -> TableView:
        columns = tuple(ColumnView(one.name, one.plane, one.unit, one.choices) for one in column_fields(place))
        return TableView(place, self.table(place).addresses, columns)

    def settings(self, address: str) -> SettingsView:
        if address != PACK:
            raise NotFound("thing", address)
        return SettingsView(PACK, f"b1.{self.revision}", "house-1", Quality.GOOD, dict(self.values))

    def table(self, place: Place) -> FakeTable:
        rows = {
            Place.DEVICE: ("house-1",),
            Place.CARRIER: ("house-1/carrier/1",),
            Place.BRANCH: ("house-1/carrier/1/branch/a", "house-1/carrier/1/branch/b"),
            Place.CHANNEL: ("house-1/channel/1",),
            Place.PACK: (PACK,),
        }
        return FakeTable(place, rows.get(place, ()))

    async def execute(self, person: str, act: Act) -> Command | tuple[Alarm, ...] | DeviceView | tuple[ZoneWriter, ...]:
        if self.fails_with is not None:
            raise self.fails_with
        match act:
            case RequestWrite():
                return self._write(person, act)
            case Acknowledge(alarm_ids):
                return self._acknowledge(person, alarm_ids)
            case CancelCommand(command_id) | CloseUnknown(command_id):
                return self._end(command_id)
            case RequestAct():
                return self._begin(person, act)
            case UnlockDevice(device_id) | LockDevice(device_id) | TakeLease(device_id):
                self.asked.append(act)
                until = Unlocked(person, "", 1) if isinstance(act, UnlockDevice) else None
                return replace(self.device(device_id), unlocked=until)
            case TakeZone(zone) | AcceptZone(zone) | OfferZone(zone) | ReleaseZone(zone):
                self.zone_asked.append((person, act))
                self.zone_writers = (ZoneWriter(zone, person, self.now().utc_us),)
                return self.zone_writers

    @property
    def editor(self) -> FakeConsole:
        """It keeps its documents itself."""
        return self

    def production(self) -> tuple[Production, int]:
        return self.now_production, self.production_revision

    async def change_production(
        self, person: str, seen_revision: int, change: Callable[[Production], Production]
    ) -> tuple[Production, int]:
        if seen_revision != self.production_revision:
            raise RevisionStale("production", str(seen_revision), str(self.production_revision), {})
        try:
            self.now_production = change(self.now_production)
        except InvalidDocument as error:
            raise ValueRefused("production", error.key, f"must be {error.expected}", {}) from error
        self.production_revision += 1
        self.kept_productions.append((self.production_revision, person, self.now_production))
        return self.now_production, self.production_revision

    async def production_revisions(self) -> tuple[DocumentRevision, ...]:
        return tuple(DocumentRevision(one, by, 7) for one, by, _ in reversed(self.kept_productions))

    async def production_at(self, revision: int) -> Production:
        for kept, _, production in self.kept_productions:
            if kept == revision:
                return production
        raise NotFound("production", f"site at revision {revision}")

    async def move_show(self, asked: ShowClock) -> Ahead:
        self.asked_moves.append(asked)
        self.now_ahead = replace(self.now_ahead, show=ShowPlace(self.now_ahead.show.revision + 1))
        return self.now_ahead

    def rules(self) -> tuple[tuple[Rule, ...], int]:
        return self.rule_set, self.rule_revision

    async def change_rule(self, person: str, rule: Rule, seen_revision: int) -> int:
        self.rule_changed_by = person
        self.rule_set = (rule,)
        self.rule_revision = seen_revision + 1
        return self.rule_revision

    def retry_now(self, device_id: str) -> None:
        if device_id not in {"house-1", "quay-1"}:
            raise NotFound("device", device_id)
        self.retried.append(device_id)

    def subscribe(self, view: View, since: int | None) -> Subscription:
        return self.feed.subscribe(view, since)

    def zones(self) -> tuple[ZoneWriter, ...]:
        return self.zone_writers

    def screens_changed(self, person: str, *, any_open: bool) -> None:
        self.screens.append((person, any_open))

    async def note(self, event: Event) -> None:
        self.noted.append(event)

    def record(self, *events: Event) -> None:
        self.noted += events

    async def settled(self) -> None:
        """Nothing waits for a disk here."""

    async def _missed(self, since: int, until: int) -> tuple[Recorded, ...]:
        return tuple(one for one in self.reader.events(since) if one.sequence <= until)

    def _write(self, person: str, act: RequestWrite) -> Command:
        known = self.known_commands.get(act.command_id)
        if known is not None:
            if (known.target, dict(known.changes)) != (act.target, dict(act.changes)):
                raise CommandIdReused(act.command_id)
            return known
        if not act.revision:
            raise RevisionMissing(act.target)
        for name, value in act.changes.items():
            self._check(act.target, name, value)
        if act.revision != f"b1.{self.revision}":
            raise RevisionStale(act.target, act.revision, f"b1.{self.revision}", self.values)
        self.values.update(act.changes)
        self.revision += 1
        at = self.now()
        command = Command(
            act.command_id,
            act.target,
            "house-1",
            dict(act.changes),
            act.revision,
            person,
            at.utc_us,
            CommandState.SENT,
            at.utc_us,
        )
        self._keep(command)
        return command

    def _begin(self, person: str, act: RequestAct) -> Command:
        self.asked.append(act)
        if act.target != "house-1" or act.act != "identify":
            raise ValueRefused(act.target, act.act, "is not an act of this thing", {"acts": ["identify"]})
        at = self.now()
        asked = (act.command_id, act.target, "house-1", dict(act.arguments), "", person, at.utc_us)
        self._keep(Command(*asked, CommandState.SENT, at.utc_us, act=act.act))
        return self.known_commands[act.command_id]

    def _check(self, target: str, name: str, value: Value) -> None:
        if name not in SCHEMAS:
            raise ValueRefused(target, name, "is not a setting of this thing", {"settings": list(SCHEMAS)})
        reason = problem_with(SCHEMAS[name], value)
        if reason is not None:
            allowed: Mapping[str, Any] = {"type": SCHEMAS[name].type.value, "enum": list(SCHEMAS[name].enum)}
            raise ValueRefused(target, name, reason, allowed)

    def _keep(self, command: Command) -> None:
        self.known_commands[command.command_id] = command
        self.reader.kept.append(Recorded(self.reader.kept[-1].sequence + 1, CommandChanged(self.now(), command)))

    def _end(self, command_id: str) -> Command:
        command = self.known_commands.get(command_id)
        if command is None:
            raise NotFound("command", command_id)
        if command.is_terminal:
            raise InvalidRequest(f"the command has ended: {command.state.value}")
        self._keep(replace(command, state=CommandState.CANCELLED))
        return self.known_commands[command_id]

    def _acknowledge(self, person: str, alarm_ids: tuple[str, ...]) -> tuple[Alarm, ...]:
        known = {alarm.alarm_id for alarm in self.standing_alarms}
        for alarm_id in alarm_ids:
            if alarm_id not in known:
                raise NotFound("alarm", alarm_id)
        self.standing_alarms = tuple(
            replace(alarm, state=AlarmState.ACKNOWLEDGED, acknowledged_by=person) for alarm in self.standing_alarms
        )
        acknowledged = self.standing_alarms
        if self.forgets_acknowledged:
            self.standing_alarms = ()
        return acknowledged
