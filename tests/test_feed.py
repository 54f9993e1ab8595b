"""The live feed: what each subscriber is told, how often, and one encoding for all."""

from __future__ import annotations

import json
import struct

import pytest

from fleet import feed as feed_module
from fleet import feed_merge
from fleet.errors import LimitReached, NotFound
from fleet.feed import Form, Fresh, View
from fleet.feed_frames import Stamp
from fleet.feed_view import Selection
from fleet.model.address import Place
from fleet.model.event import ContactChanged, DocumentApplied
from fleet.model.matter import Matter
from fleet.model.quality import Quality
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus
from tests.feed_bench import Bench, all_now, bodies, sequences, virtual
from tests.journal.samples import CONTACT
from tests.picture import START, notice
from tests.virtual_time import run_virtual

JSON_PEAKS = View(form=Form.JSON, columns={Place.CHANNEL: ("peak_dbfs",)})


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
