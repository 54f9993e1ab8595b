"""A feed, the picture behind it and a journal in memory, driven as the runtime drives them."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Coroutine, Sequence
from typing import Any

from fleet.feed import Batch, Feed, Message, Subscription
from fleet.model.event import Event, Recorded
from fleet.model.snapshot import JournalStatus
from tests.picture import GOOD_JOURNAL, START, PictureByHand
from tests.virtual_time import run_virtual


class Bench:
    """A feed, the picture behind it and a journal in memory, driven as the runtime drives them."""

    def __init__(self) -> None:
        self.picture = PictureByHand()
        self.journal: list[Recorded] = []
        self.waiting: list[Batch] = []
        self.feed = Feed(self.picture, 1, self.stored)
        self.at = START
        self.page = 300

    async def stored(self, since: int, until: int) -> Sequence[Recorded]:
        return [entry for entry in self.journal if since < entry.sequence <= until][: self.page]

    def step(self, *events: Event) -> None:
        """A step of the pipeline: captured, not yet published."""
        first = self.picture.sequence + 1
        recorded = tuple(Recorded(first + index, event) for index, event in enumerate(events))
        self.picture.sequence += len(events)
        batch = self.feed.capture(recorded)
        if batch is not None:
            self.waiting.append(batch)

    def publish(self) -> None:
        """Commit and publish the oldest batch that waits."""
        if self.waiting:
            batch = self.waiting.pop(0)
            self.journal.extend(batch.recorded)
            self.feed.publish(batch)

    def happen(self, *events: Event) -> None:
        self.step(*events)
        while self.waiting:
            self.publish()

    def tick(self, journal: JournalStatus = GOOD_JOURNAL) -> None:
        self.at = self.at.later(0.1)
        self.feed.tick(self.at, journal)


async def now(subscription: Subscription) -> tuple[Message, ...]:
    """What is there at this moment; nothing when there is nothing."""
    try:
        async with asyncio.timeout(0.001):
            return await subscription.next()
    except TimeoutError:
        return ()


async def all_now(subscription: Subscription) -> list[Message]:
    taken: list[Message] = []
    while some := await now(subscription):
        taken += some
    return taken


def bodies(messages: Sequence[Message], kind: str) -> list[dict[str, Any]]:
    texts = [json.loads(message) for message in messages if isinstance(message, str)]
    return [body for body in texts if body["type"] == kind]


def sequences(messages: Sequence[Message]) -> list[int]:
    return [event["sequence"] for body in bodies(messages, "events") for event in body["events"]]


def virtual(test: Callable[..., Coroutine[Any, Any, None]]) -> Callable[..., None]:
    """Run a test on virtual time."""

    def run() -> None:
        run_virtual(test())

    run.__name__ = test.__name__
    return run
