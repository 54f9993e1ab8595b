"""A slow screen harms nobody: half the screens stop reading; the others hear all of it at once, and nothing is merged.

How long a well screen waits on a real machine is a row of a benchmark (tests/bench/test_fan_out.py).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import msgspec
import numpy as np

from fleet.feed import Subscription, View
from fleet.feed_subscription import EVENTS_MAXIMUM, TEXT_BYTES_MAXIMUM, Fresh
from fleet.model.event import NoticeReceived
from tests.feed_bench import Bench, all_now
from tests.picture import START
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "slow_screen",
    "a slow screen harms nobody",
    "50 of 100 screens stop reading, at any moment, for any time",
    "events to be heard by 100 screens",
    (1_000, 20_000, 400_000),
)
SCREENS, SLOW = 100, 50
EVENTS_A_TRIAL = 1_000
LONG_BYTES = 400_000
"""A step's words at the most: more than a mebibyte at once nobody could be asked to hold."""


@dataclass
class Screen:
    """One subscriber. It reads at every turn, or not at all while it is stalled."""

    subscription: Subscription
    heard: list[int] = field(default_factory=list)
    snapshots: int = 0
    most_bytes: int = 0
    most_events: int = 0

    async def read(self) -> None:
        for message in await all_now(self.subscription):
            if isinstance(message, Fresh):
                self.snapshots += 1
            elif isinstance(message, str):
                self.heard += sequences_of(message)

    def weigh(self) -> None:
        """What waits for it now."""
        texts = [text.text for text in self.subscription._texts]
        self.most_bytes = max(self.most_bytes, sum(len(text.encode()) for text in texts))
        self.most_events = max(self.most_events, sum(len(sequences_of(text)) for text in texts))


@lru_cache(maxsize=2_048)
def sequences_of(text: str) -> tuple[int, ...]:
    """The events in a message; all screens are given the same one."""
    return tuple(event["sequence"] for event in msgspec.json.decode(text).get("events", ()))


def tried(seed: int) -> Seen:
    return run_virtual(_trial(np.random.default_rng(seed)))


def test_the_slow_fall_behind_alone_and_miss_nothing() -> None:
    seen = keep(PROMISE, tried)
    assert seen["screens that were given up and came back"] > 0, "some must have stopped for long enough"


async def _trial(luck: np.random.Generator) -> Seen:
    bench = Bench()
    screens = [Screen(bench.feed.subscribe(View())) for _ in range(SCREENS)]
    for screen in screens:
        await screen.read()
    slow = screens[:SLOW]
    stops = luck.integers(0, EVENTS_A_TRIAL, SLOW)
    returns = stops + luck.integers(1, 2 * EVENTS_A_TRIAL, SLOW)
    happened = 0
    while happened < EVENTS_A_TRIAL:
        happened += _happen(bench, luck, EVENTS_A_TRIAL - happened)
        for screen in screens:
            screen.weigh()
        stalled = {id(slow[one]) for one in np.flatnonzero((stops <= happened) & (happened < returns))}
        for screen in screens:
            if id(screen) not in stalled:
                await screen.read()
                assert screen.heard == list(range(1, happened + 1)), "a screen that reads has heard all of it"
    for screen in slow:
        await screen.read()
    return _seen(screens)


def _happen(bench: Bench, luck: np.random.Generator, most: int) -> int:
    """One step's events, few or many, short or long."""
    count = min(most, int(luck.geometric(0.05)))
    length = luck.integers(1, LONG_BYTES // count // 2 if luck.random() < 0.2 else 50)
    words = "\N{LATIN SMALL LETTER O WITH STROKE}" * int(length)
    bench.happen(*[NoticeReceived(START, "quay-1", "count", words) for _ in range(count)])
    if luck.random() < 0.5:
        bench.tick()
    return count


def _seen(screens: list[Screen]) -> Seen:
    whole = list(range(1, EVENTS_A_TRIAL + 1))
    for number, screen in enumerate(screens):
        assert screen.heard == whole, f"screen {number} missed or doubled an event"
        assert screen.most_bytes <= TEXT_BYTES_MAXIMUM
        assert screen.most_events <= EVENTS_MAXIMUM
        assert number < SLOW or screen.snapshots == 1, "a screen that reads is never given up"
    return {
        "events to be heard by 100 screens": EVENTS_A_TRIAL,
        "screens that were given up and came back": sum(screen.snapshots > 1 for screen in screens),
        f"{MOST}bytes that waited for one screen": max(screen.most_bytes for screen in screens),
    }
