"""Snapshot and stream without gap or repeat, and bounds for the slow."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence

from hypothesis import example, given, settings
from hypothesis import strategies as st

from fleet.errors import JournalUnavailable
from fleet.feed import Feed, Fresh, Subscription, View
from fleet.feed_subscription import EVENTS_MAXIMUM, MISSED_MAXIMUM, TEXT_BYTES_MAXIMUM
from fleet.model.address import Place
from fleet.model.event import DocumentApplied, NoticeReceived, Recorded
from tests.feed_bench import Bench, all_now, now, sequences, virtual
from tests.picture import START, notice
from tests.virtual_time import run_virtual


@virtual
async def test_a_snapshot_waits_until_all_it_contains_is_published() -> None:
    """Journal before publish: what isn't durable isn't shown, in a snapshot neither."""
    bench = Bench()
    bench.step(notice(1))
    subscription = bench.feed.subscribe(View())
    assert await now(subscription) == ()
    bench.step(notice(2))
    bench.publish()
    fresh, *rest = await all_now(subscription)
    assert isinstance(fresh, Fresh)
    assert fresh.snapshot.sequence == 1
    assert rest == []
    bench.publish()
    assert sequences(await all_now(subscription)) == [2]


@virtual
async def test_missed_events_follow_the_snapshot_first() -> None:
    bench = Bench()
    for number in range(1, 9):
        bench.happen(notice(number))
    subscription = bench.feed.subscribe(View(), since=3)
    bench.happen(notice(9))
    taken = await all_now(subscription)
    assert isinstance(taken[0], Fresh)
    assert sequences(taken) == [4, 5, 6, 7, 8, 9]


@virtual
async def test_missed_events_beyond_memory_come_from_the_journal() -> None:
    bench = Bench()
    bench.journal = [Recorded(number, notice(number)) for number in range(1, 8)]
    bench.picture.sequence = 7
    subscription = bench.feed.subscribe(View(), since=2)
    bench.happen(notice(8))
    assert sequences(await all_now(subscription)) == [3, 4, 5, 6, 7, 8]


@virtual
async def test_while_the_journal_cannot_be_read_the_stream_goes_on() -> None:
    bench = Bench()
    bench.picture.sequence = 7

    async def fail(since: int, until: int) -> Sequence[Recorded]:
        raise JournalUnavailable(f"no room ({since}, {until})")

    bench.feed = Feed(bench.picture, 1, fail)
    subscription = bench.feed.subscribe(View(), since=2)
    bench.happen(notice(8))
    assert sequences(await all_now(subscription)) == [8]


@virtual
async def test_more_missed_events_than_the_bound_begin_with_the_newest() -> None:
    bench = Bench()
    asked: list[int] = []

    async def stored(since: int, until: int) -> Sequence[Recorded]:
        asked.append(since)
        return [Recorded(until, notice(until))]

    bench.feed = Feed(bench.picture, 1, stored)
    bench.picture.sequence = MISSED_MAXIMUM + 50
    await all_now(bench.feed.subscribe(View(), since=0))
    assert asked == [50]


@virtual
async def test_a_since_from_the_future_misses_nothing() -> None:
    bench = Bench()
    bench.happen(notice(1))
    subscription = bench.feed.subscribe(View(), since=99)
    bench.happen(notice(2))
    assert sequences(await all_now(subscription)) == [2]


@virtual
async def test_a_subscriber_that_stops_reading_gets_a_snapshot_then_what_it_missed() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    for number in range(1, EVENTS_MAXIMUM + 11):
        bench.happen(notice(number))
    bench.tick()
    fresh, *rest = await all_now(subscription)
    assert isinstance(fresh, Fresh)
    assert fresh.snapshot.sequence == EVENTS_MAXIMUM + 10
    assert sequences(rest) == list(range(1, EVENTS_MAXIMUM + 11))
    bench.happen(notice(0))
    assert sequences(await all_now(subscription)) == [EVENTS_MAXIMUM + 11]


@virtual
async def test_at_the_bound_nothing_is_given_up() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    for number in range(EVENTS_MAXIMUM):
        bench.happen(notice(number))
    taken = await all_now(subscription)
    assert len(sequences(taken)) == EVENTS_MAXIMUM
    assert not any(isinstance(message, Fresh) for message in taken)


@virtual
async def test_the_queue_is_bounded_in_bytes_too() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    for _ in range(20):
        bench.happen(NoticeReceived(START, "quay-1", "long", "x" * (TEXT_BYTES_MAXIMUM // 16)))
    taken = await all_now(subscription)
    assert isinstance(taken[0], Fresh)
    assert sequences(taken) == list(range(1, 21))


@virtual
async def test_a_flood_in_one_step_reaches_everybody_whole() -> None:
    bench = Bench()
    subscriptions = [bench.feed.subscribe(View()) for _ in range(3)]
    for subscription in subscriptions:
        await all_now(subscription)
    bench.happen(*(notice(number) for number in range(2_000)))
    for subscription in subscriptions:
        assert sequences(await all_now(subscription)) == list(range(1, 2_001))
    assert bench.picture.snapshots == 2  # One for the three at first, one for the three after the flood.


@virtual
async def test_a_closed_subscription_ends_whoever_waits() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    waiting = asyncio.create_task(subscription.next())
    await now(subscription)
    bench.feed.close()
    assert await waiting == ()
    bench.happen(notice(1))
    bench.tick()
    assert await subscription.next() == ()


# ---------------------------------------------------------------- the property

STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("step"), st.integers(0, 3)),
        st.tuples(st.just("document"), st.just(0)),
        st.tuples(st.just("flood"), st.just(0)),
        st.tuples(st.just("publish"), st.just(0)),
        st.tuples(st.just("tick"), st.just(0)),
        st.tuples(st.just("subscribe"), st.just(0)),
        st.tuples(st.just("read"), st.integers(0, 3)),
    ),
    max_size=60,
)


class Reader:
    """A subscriber that checks what it is given against what was promised."""

    def __init__(self, subscription: Subscription) -> None:
        self.subscription = subscription
        self.last: int | None = None

    async def read(self, bench: Bench) -> bool:
        """Take what is there; whether there was anything."""
        taken = await now(self.subscription)
        for message in taken:
            if isinstance(message, Fresh):
                assert message.snapshot.sequence <= len(bench.journal)
                self.last = message.snapshot.sequence if self.last is None else self.last
            for sequence in sequences([message]):
                assert self.last is not None
                assert sequence == self.last + 1
                assert sequence <= len(bench.journal)
                self.last = sequence
        return bool(taken)


class Play:
    """The steps of one example, each by its name."""

    def __init__(self) -> None:
        self.bench = Bench()
        self.readers: list[Reader] = []

    async def do(self, what: str, number: int) -> None:
        match what:
            case "step":
                self.bench.step(*(notice(index) for index in range(number)))
            case "document":
                self.bench.step(DocumentApplied(START, "production", 1))
            case "flood":
                self.bench.step(*(notice(index) for index in range(EVENTS_MAXIMUM + 1)))
            case "publish":
                self.bench.publish()
            case "tick":
                self.bench.tick()
            case "subscribe":
                self.readers.append(Reader(self.bench.feed.subscribe(View(columns={Place.PACK: ("asleep",)}))))
            case _:
                for reader in self.readers[number : number + 1]:
                    await reader.read(self.bench)

    async def finish(self) -> None:
        while self.bench.waiting:
            self.bench.publish()
        for reader in self.readers:
            while await reader.read(self.bench):
                pass
            assert reader.last == len(self.bench.journal)


async def play(steps: Sequence[tuple[str, int]]) -> None:
    example = Play()
    for what, number in steps:
        await example.do(what, number)
    await example.finish()


@settings(max_examples=40)
@example([("subscribe", 0), *[("flood", 0)] * 5])
@given(STEPS)
def test_whatever_happens_each_event_arrives_once_in_order_and_only_when_durable(
    steps: list[tuple[str, int]],
) -> None:
    run_virtual(play(steps))
