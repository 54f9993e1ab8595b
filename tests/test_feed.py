"""Snapshot and stream without gap or repeat, bounds for the slow, one encoding for all."""

from __future__ import annotations

import asyncio
import json
import struct
from collections.abc import Callable, Coroutine, Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import feed as feed_module
from fleet import feed_merge
from fleet.errors import JournalUnavailable, LimitReached, NotFound
from fleet.feed import Batch, Feed, Form, Fresh, Message, Subscription, View
from fleet.feed_frames import Stamp
from fleet.feed_subscription import EVENTS_MAXIMUM, MISSED_MAXIMUM, TEXT_BYTES_MAXIMUM
from fleet.feed_view import Selection
from fleet.model.address import Place
from fleet.model.event import ContactChanged, DocumentApplied, Event, NoticeReceived, Recorded
from fleet.model.matter import Matter
from fleet.model.quality import Quality
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus
from tests.journal.samples import CONTACT
from tests.picture import GOOD_JOURNAL, START, PictureByHand, notice
from tests.virtual_time import run_virtual

JSON_PEAKS = View(form=Form.JSON, columns={Place.CHANNEL: ("peak_dbfs",)})


class Bench:
    """A feed, the picture behind it and a journal in memory, driven as the runtime drives them."""

    def __init__(self) -> None:
        self.picture = PictureByHand()
        self.journal: list[Recorded] = []
        self.waiting: list[Batch] = []
        self.feed = Feed(self.picture, 1, self.stored)
        self.at = START

    async def stored(self, since: int, until: int) -> Sequence[Recorded]:
        return [entry for entry in self.journal if since < entry.sequence <= until][:3]

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


@virtual
async def test_the_first_is_a_snapshot_and_the_recent_past_then_what_follows() -> None:
    bench = Bench()
    bench.happen(notice(1))
    subscription = bench.feed.subscribe(View())
    bench.happen(notice(2))
    fresh, *rest = await all_now(subscription)
    assert isinstance(fresh, Fresh)
    assert fresh.snapshot.sequence == 1
    assert json.loads(fresh.snapshot_json)["sequence"] == 1
    assert fresh.recent[0] == 2
    assert sequences(rest) == [2]


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
async def test_a_slow_subscriber_has_one_frame_and_it_keeps_the_peak() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(JSON_PEAKS)
    for peak in (-30.0, -1.0, -40.0):
        bench.picture.put(Place.CHANNEL, "peak_dbfs", [peak])
        bench.tick()
    (frame,) = bodies(await all_now(subscription), "readings")
    assert frame["rows"]["quay-1/channel/0"]["peak_dbfs"]["value"] == -1.0
    bench.tick()
    (frame,) = bodies(await all_now(subscription), "readings")
    assert frame["rows"]["quay-1/channel/0"]["peak_dbfs"]["value"] == -40.0


@virtual
async def test_a_slower_rate_gets_fewer_frames_that_keep_the_peak() -> None:
    bench = Bench()
    view = View(4, Form.JSON, JSON_PEAKS.columns)
    subscription = bench.feed.subscribe(view)
    peaks: list[float] = []
    for tick in range(1, 10):
        bench.picture.put(Place.CHANNEL, "peak_dbfs", [-float(tick)])
        bench.tick()
        frames = bodies(await all_now(subscription), "readings")
        peaks += [frame["rows"]["quay-1/channel/0"]["peak_dbfs"]["value"] for frame in frames]
    # Four a second from ten ticks a second: every third tick, never faster than asked.
    assert peaks == [-1.0, -4.0, -7.0]


def test_each_view_is_encoded_once_a_tick_however_many_watch(monkeypatch: pytest.MonkeyPatch) -> None:
    encoded: list[int] = []
    encode = feed_merge.encode_binary

    def counted(stamp: Stamp, table: feed_merge.TableFrame) -> bytes:
        encoded.append(stamp.sequence)
        return encode(stamp, table)

    async def watch() -> None:
        bench = Bench()
        view = View(columns={Place.CHANNEL: ("peak_dbfs",)})
        fast = [bench.feed.subscribe(view) for _ in range(20)]
        slow = [bench.feed.subscribe(view) for _ in range(20)]
        for subscription in fast + slow:
            await all_now(subscription)
        for _ in range(5):
            bench.tick()
            for subscription in fast:
                await all_now(subscription)
        # The quick share one encoding a tick; the slow, equally behind, share one for all five ticks.
        for subscription in slow:
            await all_now(subscription)

    monkeypatch.setattr(feed_merge, "encode_binary", counted)
    run_virtual(watch())
    assert encoded == [1, 2, 3, 4, 5, 5]


def test_a_view_that_nobody_watches_costs_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    bench.feed.subscribe(View()).close()
    monkeypatch.setattr(Selection, "frame", None)  # Calling it would raise.
    bench.tick()


@virtual
async def test_texts_are_encoded_once_for_all() -> None:
    bench = Bench()
    one, other = bench.feed.subscribe(View()), bench.feed.subscribe(View())
    first = [message for message in await all_now(one) if isinstance(message, Fresh)]
    assert first == [message for message in await all_now(other) if isinstance(message, Fresh)]
    bench.happen(notice(1))
    (text,) = await all_now(one)
    (same,) = await all_now(other)
    assert text is same


@virtual
async def test_what_changed_is_told_once() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    bench.picture.exact = {"pack/k17": {"reported_frequency_hz": 518_000_000, "name": None}}
    bench.picture.put(Place.PACK, "battery_v", [3.7])
    bench.tick()
    taken = await all_now(subscription)
    (exact,) = bodies(taken, "exact")
    assert exact["values"] == {"pack/k17": {"reported_frequency_hz": 518_000_000, "name": None}}
    (tables,) = bodies(taken, "tables")
    assert [(table["place"], table["rows"]) for table in tables["tables"]] == [("pack", ["pack/k0"])]
    bench.tick()
    taken = await all_now(subscription)
    assert bodies(taken, "exact") == bodies(taken, "tables") == []


@virtual
async def test_new_rows_are_told_before_the_frame_that_has_them() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    bench.picture.put(Place.PACK, "battery_v", [3.7])
    bench.tick()
    taken = await all_now(subscription)
    kinds = [json.loads(message)["type"] if isinstance(message, str) else "frame" for message in taken]
    assert kinds.index("tables") < kinds.index("frame")


@virtual
async def test_settings_are_told_with_the_step_that_changed_them() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    view = SettingsView("pack/k17", "b1.5", "quay-1", Quality.GOOD, {"low_cut_hz": 80})
    bench.picture.settings = (view,)
    bench.step()
    assert await all_now(subscription) == []
    bench.publish()
    (told,) = bodies(await all_now(subscription), "settings")
    assert [settings["address"] for settings in told["settings"]] == ["pack/k17"]
    bench.step()
    assert bench.waiting == []


@virtual
async def test_matters_are_told_whole_when_they_changed() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    matter = Matter("m1", "contact-lost", "quay-1", ("quay-1/channel/1",), ("a",), 2, 1, {}, False, False)
    contact = ContactChanged(START, CONTACT)
    bench.picture.now_matters = (matter,)
    bench.happen(contact)
    (told,) = bodies(await all_now(subscription), "matters")
    assert [entry["matter_id"] for entry in told["matters"]] == ["m1"]
    bench.happen(contact)
    assert bodies(await all_now(subscription), "matters") == []


@virtual
async def test_a_new_document_brings_a_fresh_snapshot_and_no_gap() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    await all_now(subscription)
    bench.happen(notice(1))
    bench.happen(DocumentApplied(START, "production", 2, "Engineer"))
    taken = await all_now(subscription)
    assert isinstance(taken[0], Fresh)
    assert sequences(taken) == [1, 2]


@virtual
async def test_the_state_of_the_journal_is_told_at_once_when_it_fails() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View())
    bench.tick()
    await all_now(subscription)
    written = [JournalStatus(True, written_utc_us, 0) for written_utc_us in range(1, 21)]
    for status in written:
        bench.tick(status)
    told = bodies(await all_now(subscription), "journal")
    assert [body["journal"]["written_utc_us"] for body in told] == [10, 20]
    bench.tick(JournalStatus(False, 20, 3, "the disk is full"))
    (told_now,) = bodies(await all_now(subscription), "journal")
    assert told_now["journal"] == {"writable": False, "written_utc_us": 20, "waiting": 3, "reason": "the disk is full"}


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


def test_there_are_only_so_many_subscriptions(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feed_module, "SUBSCRIPTIONS_MAXIMUM", 2)
    bench = Bench()
    first = bench.feed.subscribe(View())
    bench.feed.subscribe(View())
    with pytest.raises(LimitReached):
        bench.feed.subscribe(View())
    first.close()
    bench.feed.subscribe(View())


def test_a_view_that_cannot_be_shown_leaves_nothing_behind() -> None:
    bench = Bench()
    with pytest.raises(NotFound):
        bench.feed.subscribe(View(columns={Place.PACK: ("loudness",)}))
    assert bench.picture.snapshots == 0


@virtual
async def test_frames_carry_epoch_number_and_time() -> None:
    bench = Bench()
    subscription = bench.feed.subscribe(View(columns={Place.PACK: ("asleep",)}))
    await all_now(subscription)
    bench.tick()
    bench.tick()
    (frame,) = [message for message in await all_now(subscription) if isinstance(message, bytes)]
    assert struct.unpack_from("<IIQQ", frame, 8) == (1, 2, bench.at.utc_us, bench.at.monotonic_us)


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

    async def read(self, bench: Bench) -> None:
        for message in await now(self.subscription):
            if isinstance(message, Fresh):
                assert message.snapshot.sequence <= len(bench.journal)
                self.last = message.snapshot.sequence if self.last is None else self.last
            for sequence in sequences([message]):
                assert self.last is not None
                assert sequence == self.last + 1
                assert sequence <= len(bench.journal)
                self.last = sequence


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
            for _ in range(50):
                await reader.read(self.bench)
            assert reader.last == len(self.bench.journal)


async def play(steps: Sequence[tuple[str, int]]) -> None:
    example = Play()
    for what, number in steps:
        await example.do(what, number)
    await example.finish()


@settings(max_examples=150)
@given(STEPS)
def test_whatever_happens_each_event_arrives_once_in_order_and_only_when_durable(
    steps: list[tuple[str, int]],
) -> None:
    run_virtual(play(steps))
