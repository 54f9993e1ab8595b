"""The pipeline: state, then rules, then diagnosis, one input at a time.

It reads no clock and does no input or output: the same inputs give the same events. Whoever runs it journals the events
of a step before showing them, and hands on a command that became SENT, once.
"""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from fleet.diagnosis.matters import matters_of
from fleet.model.act import ProgressView, ScanLevels
from fleet.model.ahead import Ahead
from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.device import DeviceView
from fleet.model.device_list import DEVICES
from fleet.model.event import AlarmChanged, DeviceDescribed, DocumentApplied, Event
from fleet.model.fields import Value
from fleet.model.inputs import (
    Acknowledge,
    CancelCommand,
    CloseUnknown,
    DevicesWatched,
    DocumentChanged,
    LockDevice,
    OperatorAction,
    PipelineInput,
    RequestAct,
    RequestWrite,
    Restored,
    ShowClock,
    TakeLease,
    Tick,
    UnlockDevice,
)
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation
from fleet.model.production import Production
from fleet.model.rule import Rule
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot
from fleet.model.zone import AcceptZone, OfferZone, ReleaseZone, ScreensChanged, TakeZone, ZoneWriter
from fleet.readings import LiveTables
from fleet.recent import RecentPast
from fleet.rules.alarm_book import AlarmBook
from fleet.rules.documents import check_rules, shipped_rules
from fleet.rules.engine import RuleEngine
from fleet.state.fleet_state import FleetState
from fleet.state.outlook import Outlook
from fleet.state.show_clock import ShowClockBook
from fleet.state.zone_book import ZoneBook
from fleet.state.zone_reach import zones_of

PRODUCTION = "production"
RULES = "rules"
_CHANGES_MATTERS = (AlarmChanged, DeviceDescribed, DocumentApplied)


class Pipeline:
    """The live picture of one epoch. The shipped rules are in place until a document says otherwise."""

    def __init__(self, epoch: int) -> None:
        self.epoch = epoch
        self._state = FleetState()
        self._state.clerk.follow(lambda: self._state.topology)
        self._alarms = AlarmBook()
        self._rules = shipped_rules()
        self._engine = RuleEngine(self._rules, self._alarms)
        self._production_revision = 0
        self._clock = ShowClockBook()
        self._zones = ZoneBook()
        self._outlook = Outlook(self._state.tables)
        self._watched: frozenset[str] | None = None
        self._behind: dict[str, str] = {}
        self._matters: tuple[Matter, ...] | None = None
        self._matters_at_tick: tuple[Matter, ...] = ()
        self.recent = RecentPast()

    def step(self, item: PipelineInput) -> tuple[Event, ...]:
        """Take one input in and say what happened.

        Raises of the InvalidRequest tree, NotFound or LimitReached for an operator's action, and InvalidDocument for a
        document, that can't be done; nothing was changed then.
        """
        events = self._step(item)
        if isinstance(item, Restored) or any(isinstance(event, _CHANGES_MATTERS) for event in events):
            self._matters = None
        if self._matters is None and isinstance(item, Tick):
            self._matters_at_tick = self.matters()
        return events

    def _step(self, item: PipelineInput) -> tuple[Event, ...]:
        match item:
            case Observation():
                return self._state.observe(item)
            case Tick():
                return self._tick(item.at)
            case Contact():
                events = self._state.contact(item)
                described = any(isinstance(event, DeviceDescribed) for event in events)
                return (*events, *(self._drop_orphans(item.at) if described else ()))
            case OperatorAction():
                return self._act(item)
            case ShowClock():
                moved = self._clock.move(item, self.production)
                self._look_ahead(item.at)
                return moved
            case DocumentChanged() | DevicesWatched():
                return self._apply(item)
            case Restored():
                self._clock.restore(item.at, item.moves)
                self._behind = dict(item.behind)
                self._watched = self._with_those_behind(item.device_ids)
                self._alarms.restore(item.alarms)
                self._zones.restore(item.at, item.zones)
                return (*self._drop_orphans(item.at), *self._state.restore(item.at, item.commands))
            case ScreensChanged():
                self._zones.screens(item)
                return ()
        assert_never(item)

    def _tick(self, at: Moment) -> tuple[Event, ...]:
        settled = self._state.tick(at)
        self._look_ahead(at)
        rows = self._state.row_map
        rows = replace(rows, show=self._outlook.over_rows(self._state.topology, rows))
        alarms = self._engine.step(at, self.tables, rows, self._state.contacts.out_of_contact())
        self.recent.feed(at, self.tables, rows)
        return (*settled, *alarms, *self._zones.tick(at))

    def _look_ahead(self, at: Moment) -> None:
        self._outlook.look(at, self.production, self._clock.place)

    def _act(self, action: OperatorAction) -> tuple[Event, ...]:
        at, person = action.at, action.person
        match action.act:
            case RequestWrite() | RequestAct() as act:
                if self._state.command(act.command_id) is None:
                    self._require_zones(at, person, act.target)
                return self._state.request(at, person, act)
            case CancelCommand() as act:
                return self._state.cancel(at, person, act)
            case CloseUnknown() as act:
                return self._state.clerk.close(at, person, act)
            case UnlockDevice() as act:
                return self._state.unlock(at, person, act)
            case LockDevice() as act:
                return self._state.lock(at, person, act)
            case TakeLease() as act:
                return self._state.ask_for_lease(at, person, act)
            case Acknowledge(alarm_ids=alarm_ids):
                return self._alarms.acknowledge(at, person, alarm_ids, self._may_exist)
            case TakeZone() | OfferZone() | AcceptZone() | ReleaseZone() as act:
                return self._zones.act(at, person, act, self.production.zones)
        assert_never(action.act)

    def _require_zones(self, at: Moment, person: str, address: str) -> None:
        """Raise ZoneHeld when somebody else writes in a zone that the address serves."""
        self._zones.require(at, person, zones_of(address, self._state.topology))

    def _may_exist(self, alarm_id: str) -> bool:
        return self._engine.may_exist(alarm_id, self.tables)

    def _watch(self, item: DevicesWatched) -> tuple[Event, ...]:
        """Let go of devices that aren't watched any more, and of their alarms."""
        watching = self._state.watching
        self._watched = self._with_those_behind(item.device_ids)
        ended: list[Event] = []
        for device_id in watching.leaving(item):
            ended += self._engine.let_go(item.at, self.tables, watching.rows_of(device_id, self.tables))
        gone = watching.watch(item, self._state.contact)
        applied = (DocumentApplied(item.at, DEVICES, item.revision, item.by),) if item.revision else ()
        return (*applied, *gone, *ended, *self._drop_orphans(item.at))

    def _with_those_behind(self, watched: frozenset[str] | None) -> frozenset[str] | None:
        """The devices that are watched, and those that were last seen behind a gateway among them."""
        if watched is None:
            return None
        return watched | {device_id for device_id, gateway in self._behind.items() if gateway in watched}

    def _drop_orphans(self, at: Moment) -> tuple[Event, ...]:
        """End the alarms that nothing could end any more: their rule or their thing is gone, or nobody watches it."""
        watched = self._watched
        return self._engine.drop_orphans(at, lambda address: watched is None or self._state.may_be(address, watched))

    def _apply(self, change: DocumentChanged | DevicesWatched) -> tuple[Event, ...]:
        if isinstance(change, DevicesWatched):
            return self._watch(change)
        if isinstance(change.document, Production):
            self._state.set_production(change.document)
            self._production_revision = change.revision
            applied = DocumentApplied(change.at, PRODUCTION, change.revision)
            moved = self._clock.document_changed(change.at, change.document)
            self._look_ahead(change.at)
            zones = self._zones.keep_only(change.at, change.document.zones)
            return (applied, *moved, *zones, *self._drop_orphans(change.at))
        check_rules(change.document, RULES)
        self._rules = change.document
        self._engine = RuleEngine(self._rules, self._alarms)
        return (DocumentApplied(change.at, RULES, change.revision), *self._drop_orphans(change.at))

    # Views.

    @property
    def tables(self) -> LiveTables:
        """The live tables, as of the last tick."""
        return self._state.tables

    @property
    def production(self) -> Production:
        """The production in place."""
        return self._state.production

    def zones(self) -> tuple[ZoneWriter, ...]:
        """The zones in which one person alone writes."""
        return self._zones.writers()

    def ahead(self) -> Ahead:
        """The evening ahead, as of the last look; the same object until something of it changed."""
        return self._outlook.ahead

    def show_place_again(self, at: Moment) -> tuple[Event, ...]:
        """The place of the show clock as an event, for when the move that led there was lost."""
        return self._clock.place_again(at)

    def rules(self) -> tuple[Rule, ...]:
        """The rules in place."""
        return self._rules

    def devices(self) -> tuple[DeviceView, ...]:
        """All devices, in the order in which they were first tried."""
        return self._state.devices()

    def alarms(self) -> tuple[Alarm, ...]:
        """The alarms that aren't normal."""
        return self._alarms.all()

    def commands(self) -> tuple[Command, ...]:
        """The commands that are open or were asked for within ten minutes."""
        return self._state.commands()

    def command(self, command_id: str) -> Command | None:
        """That command, or None when it is unknown or forgotten here; the journal may still have it."""
        return self._state.command(command_id)

    def matters(self) -> tuple[Matter, ...]:
        """What needs somebody: by priority, then by when it began. The same object until something changed.

        What is the same matter is settled tick by tick, so that it doesn't hang on who asks how often.
        """
        if self._matters is None:
            self._matters = matters_of(self._alarms.all(), self._state.topology, self._matters_at_tick)
        return self._matters

    def settings(self, address: str) -> SettingsView:
        """The settings of one address. Raises NotFound when no device holds it."""
        return self._state.settings(address)

    def settings_changes(self) -> tuple[SettingsView, ...]:
        """Settings of which anything shown has changed since the last call; to be drained once a tick."""
        return self._state.settings_changes()

    def exact(self, address: str) -> dict[str, Value]:
        """What one thing tells of itself that is text or an exact integer."""
        return self._state.exact.of(address)

    def exact_changes(self) -> dict[str, dict[str, Value | None]]:
        """Exact readings that changed since the last call; to be drained once a tick."""
        return self._state.exact.drain()

    def read_backs_due(self, at: Moment) -> tuple[str, ...]:
        """Addresses whose settings must be read again now, to be asked for on every tick.

        They bear a command whose outcome is unknown, or that the device calls done without a report. Each is named once
        when it becomes due, after each reconnection, and every five seconds while the outcome stays unknown.
        """
        return self._state.read_backs_due(at)

    def take_secrets(self, command_id: str) -> dict[str, Value]:
        """The secret arguments of an act that is being handed on, given once and kept no longer."""
        return self._state.clerk.take_secrets(command_id)

    def cancels_due(self, at: Moment) -> tuple[Command, ...]:
        """Commands that their devices are to be asked to give up; each is named every five seconds until it ends."""
        return self._state.clerk.cancels_due(at)

    def act_progress(self) -> dict[str, ProgressView]:
        """How far acts are, those of which more was heard since the last call; to be drained once a tick."""
        return self._state.clerk.progress.drain()

    def levels(self, command_id: str) -> ScanLevels | None:
        """What a scan has found so far, or None when nothing is known of it here."""
        return self._state.clerk.progress.levels(command_id)

    def mark_unrecorded(self, command_id: str) -> None:
        """Say that the journal could not take this command before it was sent."""
        self._state.mark_unrecorded(command_id)

    def snapshot(self, at: Moment, sequence: int, journal: JournalStatus) -> Snapshot:
        """The whole picture but the readings; ``sequence`` is that of the last event contained."""
        return Snapshot(
            epoch=self.epoch,
            sequence=sequence,
            at_utc_us=at.utc_us,
            production=self.production,
            production_revision=self._production_revision,
            ahead=self.ahead(),
            devices=self.devices(),
            tables=self.tables.views(),
            settings=self._state.all_settings(),
            exact=self._state.exact.values(),
            commands=self.commands(),
            alarms=self.alarms(),
            matters=self.matters(),
            journal=journal,
            zones=self.zones(),
        )
