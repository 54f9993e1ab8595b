"""The pipeline as the feed sees it, and the numbering of its events in the journal's order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from fleet.clock import Clock
from fleet.model.act import ProgressView
from fleet.model.ahead import Ahead
from fleet.model.event import Event, Recorded
from fleet.model.fields import Value
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot
from fleet.pipeline import Pipeline
from fleet.readings import LiveTables
from fleet.recent import RecentCells


class LivePicture:
    """One epoch's picture. ``sequence`` is that of the last event that the pipeline made, durable yet or not."""

    def __init__(self, pipeline: Pipeline, clock: Clock, sequence: int, journal: Callable[[], JournalStatus]) -> None:
        self.pipeline = pipeline
        self.sequence = sequence
        self._clock = clock
        self._journal = journal

    def now(self) -> Moment:
        """The present moment."""
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    def number(self, events: Iterable[Event]) -> tuple[Recorded, ...]:
        """The events with the next sequence numbers."""
        recorded = tuple(Recorded(self.sequence + index, event) for index, event in enumerate(events, start=1))
        self.sequence += len(recorded)
        return recorded

    @property
    def tables(self) -> LiveTables:
        """The live tables."""
        return self.pipeline.tables

    def snapshot(self) -> Snapshot:
        """Everything but the readings, as it is now."""
        return self.pipeline.snapshot(self.now(), self.sequence, self._journal())

    def recent_past(self, cells: int) -> RecentCells:
        """The recent past of every channel."""
        return self.pipeline.recent.on_axis(self.now(), cells)

    def matters(self) -> tuple[Matter, ...]:
        """What needs somebody, root first."""
        return self.pipeline.matters()

    def ahead(self) -> Ahead:
        """The evening ahead; the same object until something of it changed."""
        return self.pipeline.ahead()

    def changed_settings(self) -> tuple[SettingsView, ...]:
        """The settings that changed since this was last called."""
        return self.pipeline.settings_changes()

    def exact_changes(self) -> Mapping[str, Mapping[str, Value | None]]:
        """The exact readings that changed since this was last called."""
        return self.pipeline.exact_changes()

    def act_progress(self) -> Mapping[str, ProgressView]:
        """How far acts are, those of which more was heard since this was last called."""
        return self.pipeline.act_progress()
