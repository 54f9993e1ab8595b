"""The live feed: a snapshot and the stream after it in one call; bounded for each subscriber, encoded once for all.

The runtime drives it on the loop. After each step of the pipeline it has the step's consequences captured
(``capture``), commits the events to the journal, and only then publishes the batch. Ten times a second ``tick`` takes
a frame of the live tables for every view that somebody watches.
"""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Protocol

import msgspec

from fleet.errors import JournalUnavailable, LimitReached
from fleet.feed_frames import RECENT_CELLS, RecentCells, Stamp, encode_recent
from fleet.feed_merge import Form, Frame
from fleet.feed_subscription import Fresh, Message, Subscription, Text, events_text
from fleet.feed_view import RATE_HZ_MAXIMUM, Selection, View
from fleet.model.act import ProgressView
from fleet.model.ahead import Ahead
from fleet.model.event import AlarmChanged, ContactChanged, DocumentApplied, Event, Recorded
from fleet.model.fields import Value
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot
from fleet.readings import LiveTables

__all__ = ["Batch", "Feed", "Form", "Fresh", "Message", "Missed", "Picture", "Subscription", "View"]

_LOG = logging.getLogger(__name__)
SUBSCRIPTIONS_MAXIMUM = 256
REMEMBERED_EVENTS = 4_000
MISSED_PAGE = 500
JOURNAL_EVERY_US = 1_000_000
Missed = Callable[[int, int], Awaitable[Sequence[Recorded]]]
"""Events of the journal after one sequence number up to another, oldest first, as many as it gives at a time."""


class Picture(Protocol):
    """What the feed shows. ``snapshot`` counts in its sequence every event that the pipeline has made."""

    @property
    def tables(self) -> LiveTables:
        """The live tables."""

    def snapshot(self) -> Snapshot:
        """Everything but the readings, as it is now."""

    def recent_past(self, cells: int) -> RecentCells:
        """The recent past of every channel."""

    def matters(self) -> tuple[Matter, ...]:
        """What needs somebody, root first."""

    def ahead(self) -> Ahead:
        """The evening ahead; the same object until something of it changed."""

    def changed_settings(self) -> tuple[SettingsView, ...]:
        """The settings that changed since this was last called."""

    def exact_changes(self) -> Mapping[str, Mapping[str, Value | None]]:
        """The exact readings that changed since this was last called."""

    def act_progress(self) -> Mapping[str, ProgressView]:
        """How far acts are, those of which more was heard since this was last called; by command."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What one step of the pipeline changed, waiting to be published. ``matters`` is None where none changed."""

    number: int
    recorded: tuple[Recorded, ...]
    settings: tuple[SettingsView, ...] = ()
    matters: tuple[Matter, ...] | None = None


@dataclass(slots=True)
class _Stream:
    """The frames of one view at one rate, and who watches them."""

    selection: Selection
    every_ticks: int
    watchers: list[Subscription] = field(default_factory=list)
    held: Frame | None = None


class Feed:
    """Owns the subscriptions. At most 256; one more raises LimitReached."""

    def __init__(self, picture: Picture, epoch: int, missed: Missed) -> None:
        self._picture = picture
        self._epoch = epoch
        self._missed = missed
        self._streams: dict[tuple[object, ...], _Stream] = {}
        self._subscriptions: dict[Subscription, tuple[object, ...]] = {}
        self._captured = 0
        self._published = 0
        self._ticks = 0
        self._at = Moment(0, 0)
        self._fresh: Fresh | None = None
        self._matters: tuple[Matter, ...] = ()
        self._tables_version = 0
        self._rows: dict[str, int] = {}
        self._ahead = picture.ahead()
        self._journal: JournalStatus | None = None
        self._journal_told_us = 0
        self._remembered: deque[Recorded] = deque(maxlen=REMEMBERED_EVENTS)

    # ------------------------------------------------------------ subscribers

    def subscribe(self, view: View, since: int | None = None) -> Subscription:
        """A snapshot and the stream that follows it, without gap or repeat.

        With ``since`` the events after that sequence number follow the snapshot before anything else. Raises
        ValueRefused, NotFound and LimitReached.
        """
        view.check()
        if len(self._subscriptions) >= SUBSCRIPTIONS_MAXIMUM:
            raise LimitReached("live subscriptions", SUBSCRIPTIONS_MAXIMUM)
        subscription = Subscription(self, self.fresh(), since)
        every_ticks = -(-RATE_HZ_MAXIMUM // view.rate_hz)
        stream = self._streams.setdefault(view.key, _Stream(Selection(view), every_ticks))
        stream.watchers.append(subscription)
        self._subscriptions[subscription] = view.key
        return subscription

    def leave(self, subscription: Subscription) -> None:
        """Forget a subscription; its own ``close`` calls this."""
        key = self._subscriptions.pop(subscription, None)
        if key is None:
            return
        stream = self._streams[key]
        stream.watchers.remove(subscription)
        if not stream.watchers:
            del self._streams[key]

    def close(self) -> None:
        """End every subscription."""
        for subscription in tuple(self._subscriptions):
            subscription.close()

    @property
    def published(self) -> int:
        """The number of the last batch that was published."""
        return self._published

    @property
    def subscriptions(self) -> int:
        """How many subscribe."""
        return len(self._subscriptions)

    @property
    def waiting(self) -> int:
        """How many messages and frames wait for subscribers, all together."""
        return sum(subscription.waiting for subscription in self._subscriptions)

    def fresh(self) -> Fresh:
        """The whole picture as it is now; made once for all who ask before it changes."""
        if self._fresh is None:
            snapshot = self._picture.snapshot()
            stamp = Stamp(self._epoch, self._ticks, self._at)
            recent = encode_recent(stamp, self._picture.recent_past(RECENT_CELLS))
            self._fresh = Fresh(snapshot, msgspec.json.encode(snapshot), recent, self._captured)
        return self._fresh

    async def missed(self, since: int, until: int) -> Sequence[Recorded]:
        """Some events after ``since`` up to ``until``: from memory where it reaches back that far, else the journal.

        While the journal can't be read, those that memory doesn't hold are left out; the journal's state says so.
        """
        first = self._remembered[0].sequence if self._remembered else None
        if first is None or since + 1 < first:
            stored = await self._stored(since, until)
            if stored:
                return stored
        wanted = (entry for entry in self._remembered if since < entry.sequence <= until)
        return tuple(islice(wanted, MISSED_PAGE))

    async def _stored(self, since: int, until: int) -> tuple[Recorded, ...]:
        try:
            page = await self._missed(since, until)
        except JournalUnavailable:
            _LOG.warning("Events %d to %d can't be read from the journal for a subscriber.", since + 1, until)
            return ()
        return tuple(entry for entry in page if since < entry.sequence <= until)

    # ------------------------------------------------------------ what the runtime drives

    def capture(self, recorded: tuple[Recorded, ...]) -> Batch | None:
        """What the step just made changed, to be published once it is durable; None when nobody needs to know."""
        settings = self._picture.changed_settings()
        if not recorded and not settings:
            return None
        self._fresh = None
        self._captured += 1
        return Batch(self._captured, recorded, settings, self._changed_matters(recorded))

    def publish(self, batch: Batch) -> None:
        """Hand a batch to every subscriber, in the order of their capture."""
        self._published = batch.number
        self._remembered.extend(batch.recorded)
        texts = _texts_of(batch)
        for subscription in tuple(self._subscriptions):
            subscription.offer(texts, batch.number)
        if any(isinstance(entry.event, DocumentApplied) for entry in batch.recorded):
            self._outdate_those_without(batch.number)

    def tick(self, at: Moment, journal: JournalStatus) -> None:
        """Take a frame for every view that is watched, and tell what changed since the last tick."""
        self._ticks += 1
        self._at = at
        self._fresh = None
        texts = [*self._grown_tables(), *self._changed_exact(), *self._moved_acts(), *self._changed_ahead()]
        texts += self._changed_journal(at, journal)
        if texts:
            for subscription in tuple(self._subscriptions):
                subscription.offer(texts)
        stamp = Stamp(self._epoch, self._ticks, at)
        for stream in self._streams.values():
            self._show(stream, stamp)

    # ------------------------------------------------------------ parts

    def _show(self, stream: _Stream, stamp: Stamp) -> None:
        frame = stream.selection.frame(stamp, self._picture.tables)
        if stream.held is not None:
            frame = frame.after(stream.held)
        if self._ticks % stream.every_ticks:
            stream.held = frame
            return
        stream.held = None
        for subscription in stream.watchers:
            subscription.show(frame)
        frame.forget()

    def _outdate_those_without(self, number: int) -> None:
        """A document changes what no message carries, so those whose snapshot lacks it get a fresh one."""
        for subscription in tuple(self._subscriptions):
            if subscription.contained < number:
                subscription.outdate()

    def _changed_matters(self, recorded: tuple[Recorded, ...]) -> tuple[Matter, ...] | None:
        if not any(_may_change_matters(entry.event) for entry in recorded):
            return None
        matters = self._picture.matters()
        if matters == self._matters:
            return None
        self._matters = matters
        return matters

    def _grown_tables(self) -> list[Text]:
        tables = self._picture.tables
        if tables.version == self._tables_version:
            return []
        self._tables_version = tables.version
        views = tables.views()
        grown = [view for view in views if len(view.rows) > self._rows.get(view.place, 0)]
        self._rows = {view.place: len(view.rows) for view in views}
        return [_text({"type": "tables", "tables": grown})]

    def _changed_exact(self) -> list[Text]:
        changes = self._picture.exact_changes()
        return [_text({"type": "exact", "values": changes})] if changes else []

    def _moved_acts(self) -> list[Text]:
        progress = self._picture.act_progress()
        return [_text({"type": "progress", "progress": progress})] if progress else []

    def _changed_ahead(self) -> list[Text]:
        """The evening ahead when it changed, but never before the journal holds what changed it."""
        ahead = self._picture.ahead()
        if ahead is self._ahead or self._captured != self._published:
            return []
        self._ahead = ahead
        return [_text({"type": "ahead", "ahead": ahead})]

    def _changed_journal(self, at: Moment, journal: JournalStatus) -> list[Text]:
        """The journal's state when it changed; when it was last written, at most once a second."""
        before = self._journal
        if before == journal:
            return []
        urgent = before is None or (before.writable, before.reason) != (journal.writable, journal.reason)
        if not urgent and at.monotonic_us - self._journal_told_us < JOURNAL_EVERY_US:
            return []
        self._journal, self._journal_told_us = journal, at.monotonic_us
        return [_text({"type": "journal", "journal": journal})]


def _may_change_matters(event: Event) -> bool:
    return isinstance(event, AlarmChanged | ContactChanged | DocumentApplied)


def _texts_of(batch: Batch) -> list[Text]:
    texts: list[Text] = []
    if batch.recorded:
        texts.append(events_text(batch.recorded))
    if batch.settings:
        texts.append(_text({"type": "settings", "settings": batch.settings}))
    if batch.matters is not None:
        texts.append(_text({"type": "matters", "matters": batch.matters}))
    return texts


def _text(body: dict[str, Any]) -> Text:
    return Text(msgspec.json.encode(body).decode())
