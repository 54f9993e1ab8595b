"""One subscriber's end of the live feed: bounded, latest-only for readings, without a gap for events."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import msgspec

from fleet.feed_merge import Frame
from fleet.model.event import Recorded
from fleet.model.event_json import recorded_as_object
from fleet.model.snapshot import Snapshot

EVENTS_MAXIMUM = 1_000
TEXT_BYTES_MAXIMUM = 1_048_576
MISSED_MAXIMUM = 10_000


@dataclass(frozen=True, slots=True, eq=False)
class Fresh:
    """A snapshot, which replaces everything sent before, and the recent past that follows it as bytes.

    ``snapshot_json`` is the snapshot encoded; ``number`` counts the batches that it contains.
    """

    snapshot: Snapshot
    snapshot_json: bytes
    recent: bytes
    number: int


Message = Fresh | str | bytes
"""A snapshot, a text message, or a binary one."""


@dataclass(frozen=True, slots=True)
class Text:
    """An encoded text message, how many events it carries (at least 1, for the bound), and the last one's sequence."""

    text: str
    weight: int = 1
    sequence: int | None = None


class Source(Protocol):
    """Where a subscription gets what it can't be handed: a snapshot when it fell behind, and missed events."""

    @property
    def published(self) -> int:
        """The number of the last batch that was published."""

    def fresh(self) -> Fresh:
        """The whole picture as it is now."""

    async def missed(self, since: int, until: int) -> Sequence[Recorded]:
        """Some events after ``since`` up to and including ``until``, oldest first; nothing when there are none."""

    def leave(self, subscription: Subscription) -> None:
        """Forget a subscription."""


class Subscription:
    """What waits for one subscriber.

    Readings have one slot: a frame that wasn't taken is merged into the next. Everything else queues, at most 1,000
    events or 1 MiB; beyond that the queue is given up and the subscriber gets a fresh snapshot, then the events it
    missed. At most the last 10,000 missed events are sent; older ones are in the journal.
    """

    def __init__(self, source: Source, fresh: Fresh, since: int | None) -> None:
        self._source = source
        self._fresh: Fresh | None = None
        self._behind = False
        self._closed = False
        self._texts: deque[Text] = deque()
        self._weight = 0
        self._bytes = 0
        self._slot: Frame | None = None
        # The last event that the subscriber knows; None until its first snapshot when it said nothing of it.
        self._told = since
        self._missed_from: int | None = None
        self._missed_until = 0
        self._contained = 0
        self._wake = asyncio.Event()
        self._renew(fresh)

    async def next(self) -> tuple[Message, ...]:
        """Wait for something and take it all, in order; empty once the subscription has ended.

        May be cancelled without losing anything. The first is always a Fresh.
        """
        while not self._closed:
            if self._behind:
                self._renew(self._source.fresh())
            if self._fresh is not None:
                if self._source.published >= self._fresh.number:
                    return (self._take_fresh(),)
            elif self._missed_from is not None:
                missed = await self._next_missed(self._missed_from)
                if missed:
                    return missed
                continue
            elif self._texts or self._slot is not None:
                return self._take()
            self._wake.clear()
            await self._wake.wait()
        return ()

    @property
    def contained(self) -> int:
        """The number of the last batch that the subscriber's snapshot contains."""
        return self._contained

    @property
    def waiting(self) -> int:
        """How many messages and frames wait to be taken."""
        return len(self._texts) + (self._slot is not None) + (self._fresh is not None)

    def close(self) -> None:
        """End the subscription; whoever waits for the next gets nothing."""
        if not self._closed:
            self._closed = True
            self._give_up()
            self._source.leave(self)
            self._wake.set()

    def offer(self, texts: Sequence[Text], number: int | None = None) -> None:
        """Queue messages of the batch ``number`` (None for those that belong to none).

        A batch that the snapshot contains is passed over. Gives the queue up when it would grow beyond its bounds.
        """
        self._wake.set()
        if self._behind or self._closed or (number is not None and number <= self._contained):
            return
        self._texts.extend(texts)
        self._weight += sum(text.weight for text in texts)
        self._bytes += sum(_bytes_of(text.text) for text in texts)
        if self._weight > EVENTS_MAXIMUM or self._bytes > TEXT_BYTES_MAXIMUM:
            self.outdate()

    def outdate(self) -> None:
        """Give up what waits; the next thing the subscriber gets is a fresh snapshot."""
        if not self._closed:
            self._give_up()
            self._behind = True
            self._wake.set()

    def show(self, frame: Frame) -> None:
        """Put a frame into the slot; one that is there already is merged into it."""
        if self._behind or self._closed:
            return
        self._slot = frame if self._slot is None else frame.after(self._slot)
        self._wake.set()

    def _give_up(self) -> None:
        self._fresh = None
        self._slot = None
        self._texts.clear()
        self._weight = self._bytes = 0

    def _renew(self, fresh: Fresh) -> None:
        self._behind = False
        self._fresh = fresh
        self._contained = fresh.number
        self._missed_until = fresh.snapshot.sequence
        told = self._missed_until if self._told is None else max(self._told, self._missed_until - MISSED_MAXIMUM)
        self._missed_from = told if told < self._missed_until else None

    def _take_fresh(self) -> Fresh:
        assert self._fresh is not None  # noqa: S101  (the caller has looked)
        fresh, self._fresh = self._fresh, None
        if self._told is None:
            self._told = fresh.snapshot.sequence
        return fresh

    async def _next_missed(self, since: int) -> tuple[Message, ...]:
        """The next page of missed events; empty when there are no more."""
        page = await self._source.missed(since, self._missed_until)
        if self._behind or self._closed:
            return ()
        if not page:
            self._missed_from = None
            self._told = self._missed_until
            return ()
        self._told = page[-1].sequence
        self._missed_from = self._told if self._told < self._missed_until else None
        return (events_text(page).text,)

    def _take(self) -> tuple[Message, ...]:
        taken: list[Message] = []
        for text in self._texts:
            taken.append(text.text)
            self._told = self._told if text.sequence is None else text.sequence
        if self._slot is not None:
            taken.extend(self._slot.messages())
        self._give_up()
        return tuple(taken)


def events_text(recorded: Sequence[Recorded]) -> Text:
    """Events as one text message."""
    body = {"type": "events", "events": [recorded_as_object(entry) for entry in recorded]}
    return Text(msgspec.json.encode(body).decode(), len(recorded), recorded[-1].sequence)


def _bytes_of(text: str) -> int:
    """What the text takes on its way, in UTF-8; a name may be of any script."""
    return len(text) if text.isascii() else len(text.encode())
