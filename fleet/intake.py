"""The one way into the pipeline and out of it: an input is taken, and what it changed goes to the recorder."""

from __future__ import annotations

from collections.abc import Callable

from fleet.clock import Clock
from fleet.feed import Batch, Feed
from fleet.journal.entries import StateEvent
from fleet.model.command import Command, CommandState
from fleet.model.event import AlarmChanged, CommandChanged, Event, JournalGap
from fleet.model.inputs import PipelineInput
from fleet.model.moment import Moment
from fleet.picture import LivePicture
from fleet.pipeline import Pipeline
from fleet.recorder import Recorder, Wiring
from fleet.stores import Stores


class Intake:
    """Owns the pipeline, the feed and the recorder between them.

    ``hand_on`` is given each command that became SENT, once that is committed and published.
    """

    def __init__(self, stores: Stores, clock: Clock, hand_on: Callable[[Command], None]) -> None:
        self._clock = clock
        self._hand_on = hand_on
        self._captured = 0
        self.pipeline = Pipeline(stores.epoch)
        wiring = Wiring(self._publish, self.pipeline.mark_unrecorded, self._open_states, self._record_gap)
        self.recorder = Recorder(stores.writer, clock, wiring)
        self.picture = LivePicture(self.pipeline, clock, stores.sequence, lambda: self.recorder.status)
        self.feed = Feed(self.picture, stores.epoch, stores.missed)

    def now(self) -> Moment:
        """The present moment."""
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    def take(self, item: PipelineInput) -> tuple[Event, ...]:
        """Give the pipeline one input, and what it made of it to the recorder.

        Raises as ``Pipeline.step`` does; nothing was changed then.
        """
        events = self.pipeline.step(item)
        self.record(*events)
        return events

    def record(self, *events: Event) -> None:
        """Have events committed and then published, with what else the last step changed."""
        batch = self.feed.capture(self.picture.number(events))
        if batch is not None:
            self._captured = batch.number
            self.recorder.add(batch)

    async def settled(self) -> None:
        """Return once everything taken so far is durable, or marked as unrecorded while the journal fails."""
        await self.recorder.settled(self._captured)

    def _record_gap(self, gap: JournalGap) -> None:
        """A gap in which events were lost may have lost the show's place: it is told again."""
        self.record(gap, *(self.pipeline.show_place_again(gap.at) if gap.lost else ()))

    def _publish(self, batch: Batch) -> None:
        self.feed.publish(batch)
        for entry in batch.recorded:
            if isinstance(entry.event, CommandChanged) and entry.event.command.state is CommandState.SENT:
                self._hand_on(entry.event.command)

    def _open_states(self) -> tuple[StateEvent, ...]:
        at = self.now()
        alarms = tuple(AlarmChanged(at, alarm) for alarm in self.pipeline.alarms())
        return (*alarms, *(CommandChanged(at, command) for command in self.pipeline.commands()))
