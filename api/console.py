"""What the API needs of the console behind it; the runtime offers it, and tests may stand in for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from api.plan_book import JobBook, PlanBook
from api.retune_book import RetuneBook
from api.roster import Roster
from api.survey_book import SurveyBook
from fleet.feed import Subscription, View
from fleet.model.act import ScanLevels
from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.device import DeviceView
from fleet.model.document import DocumentRevision
from fleet.model.event import Recorded
from fleet.model.inputs import Act, ShowClock
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.rule import Rule
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot
from fleet.model.vitals import Vitals
from fleet.model.zone import ZoneWriter


class JournalReader(Protocol):
    """The journal, for reading. Each call waits for the disk and raises JournalUnavailable."""

    def events(
        self, since: int = 0, limit: int = 100, *, kind: str | None = None, address: str | None = None
    ) -> tuple[Recorded, ...]:
        """Events after the sequence number ``since``, oldest first."""

    def command(self, command_id: str) -> Command:
        """One command as it last was. Raises NotFound."""

    def commands(self, before: Command | None = None, limit: int = 100) -> tuple[Command, ...]:
        """Commands requested before ``before``, newest first."""


class Table(Protocol):
    """One live table: ``values`` is shaped [column, row], NaN for absent; ``qualities`` likewise."""

    @property
    def addresses(self) -> Sequence[str]:
        """The rows, in order."""

    @property
    def values(self) -> NDArray[np.floating[Any]]:
        """The latest values."""

    @property
    def qualities(self) -> NDArray[np.uint8]:
        """How far each may be trusted."""

    def ages_100ms(self, at: Moment) -> NDArray[np.uint16]:
        """The age of every value in tenths of a second, 65535 for older or never."""


class Editor(Protocol):
    """The documents that people edit while the console runs."""

    def production(self) -> tuple[Production, int]:
        """The production in force and the revision of its document; 0 before there was any."""

    async def change_production(
        self, person: str, seen_revision: int, change: Callable[[Production], Production]
    ) -> tuple[Production, int]:
        """Put what ``change`` makes of the production in its place, durably.

        Raises RevisionStale, ValueRefused, LimitReached, JournalUnavailable and what the change raises.
        """

    async def production_revisions(self) -> tuple[DocumentRevision, ...]:
        """Every revision of the production, newest first. Raises JournalUnavailable."""

    async def production_at(self, revision: int) -> Production:
        """The production as it stood at a revision. Raises NotFound and JournalUnavailable."""

    def rules(self) -> tuple[tuple[Rule, ...], int]:
        """The rules in force and the revision of their document."""

    async def change_rule(self, person: str, rule: Rule, seen_revision: int) -> int:
        """Put a rule in the place of the one with its id, durably, and give the new revision.

        Raises RevisionStale, ValueRefused and JournalUnavailable.
        """


class Console(Protocol):
    """The console as the API sees it. Nothing here waits for a device."""

    @property
    def reader(self) -> JournalReader:
        """The journal, for reading."""

    @property
    def editor(self) -> Editor:
        """The documents, for reading what stands and changing it."""

    @property
    def roster(self) -> Roster:
        """The list of devices, and what lies around it."""

    @property
    def plans(self) -> PlanBook:
        """The frequency plans."""

    @property
    def surveys(self) -> SurveyBook:
        """The scans that are kept."""

    @property
    def retuner(self) -> RetuneBook:
        """Plans put on the air."""

    @property
    def jobs(self) -> JobBook:
        """Long work that is under way or has ended."""

    def now(self) -> Moment:
        """The present moment."""

    def snapshot(self) -> Snapshot:
        """The whole live picture but the readings."""

    def ahead(self) -> Ahead:
        """The evening ahead."""

    async def move_show(self, asked: ShowClock) -> Ahead:
        """Move the show clock, durably. Raises RevisionStale, CommandIdReused, ValueRefused, NotFound, LimitReached."""

    def journal_status(self) -> JournalStatus:
        """Whether the journal is written."""

    def vitals(self) -> Vitals:
        """How the console itself is."""

    def devices(self) -> tuple[DeviceView, ...]:
        """Every device."""

    def alarms(self) -> tuple[Alarm, ...]:
        """Every alarm that isn't normal."""

    def matters(self) -> tuple[Matter, ...]:
        """What needs somebody, root first."""

    def commands(self) -> tuple[Command, ...]:
        """The commands that are open or recent."""

    def command(self, command_id: str) -> Command:
        """A command that is open or recent. Raises NotFound."""

    def device(self, device_id: str) -> DeviceView:
        """One device. Raises NotFound."""

    def levels(self, command_id: str) -> ScanLevels:
        """What a scan that is under way or recent has found so far. Raises NotFound."""

    def settings(self, address: str) -> SettingsView:
        """The settings of one thing. Raises NotFound."""

    def table(self, place: Place) -> Table:
        """The live readings of one kind of thing."""

    async def execute(self, person: str, act: Act) -> Command | tuple[Alarm, ...] | DeviceView | tuple[ZoneWriter, ...]:
        """Do what a person asks, durably. Raises the InvalidRequest tree, NotFound and LimitReached."""

    def subscribe(self, view: View, since: int | None) -> Subscription:
        """The whole picture and every change after it. Raises ValueRefused, NotFound and LimitReached."""

    def zones(self) -> tuple[ZoneWriter, ...]:
        """The zones in which one person alone writes."""

    def screens_changed(self, person: str, *, any_open: bool) -> None:
        """A person's first screen opened, or their last one closed."""

    def retry_now(self, device_id: str) -> None:
        """Try to reach a device at once. Raises NotFound."""
