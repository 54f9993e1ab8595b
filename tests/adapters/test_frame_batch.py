"""Frames that wait together and are handed on as one."""

from __future__ import annotations

import pytest

from fleet.adapters.frame_batch import FRAMES_MAXIMUM, FrameBatch
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.errors import MalformedMessage
from fleet.model.observation import Layout
from fleet.model.quality import Quality
from fleet.protocol import messages
from tests.adapters.rig import connected
from tests.virtual_time import run_virtual

BRANCH = "quay-1/carrier/1/branch/a"
LAYOUT = Layout(((BRANCH, "rf_dbm"), (BRANCH, "rf_min_dbm")), 100)


def readings(sequence: int, *values: float | None) -> messages.Readings:
    return messages.Readings(1, sequence, 1_000 * sequence, list(values))


def test_frames_that_wait_become_one() -> None:
    assert FrameBatch(LAYOUT).newest_us is None
    batch = FrameBatch(LAYOUT)
    for waiting in (readings(4, -50.0, -50.0), readings(5, -70.0, -80.0), readings(6, -60.0, None)):
        assert batch.add(waiting)
    assert batch.newest_us == 6_000
    frame = batch.take(300, too_old=False)
    assert frame.values.tolist() == [-60.0, -80.0]
    assert (frame.sequence, frame.device_time_us, frame.coalesced, frame.qualities) == (6, 6_000, 3, None)
    assert frame.age_us == 300
    with pytest.raises(ValueError, match="no frame waits"):
        batch.take(0, too_old=False)


def test_what_was_too_old_is_uncertain_and_absent_stays_absent() -> None:
    batch = FrameBatch(LAYOUT)
    batch.add(readings(1, -50.0, None))
    qualities = batch.take(0, too_old=True).qualities
    assert qualities is not None
    assert qualities.tolist() == [Quality.UNCERTAIN, Quality.ABSENT]


def test_a_full_batch_says_so_and_a_frame_of_another_length_is_refused() -> None:
    batch = FrameBatch(LAYOUT)
    room = [batch.add(readings(number, 1.0, 2.0)) for number in range(FRAMES_MAXIMUM)]
    assert room == [True] * (FRAMES_MAXIMUM - 1) + [False]
    with pytest.raises(MalformedMessage):
        batch.add(readings(0, 1.0))


def test_frames_of_one_pass_are_handed_on_as_one_and_in_their_place() -> None:
    async def main() -> None:
        async with connected(OpenJsonAdapter) as rig:
            await rig.clock.sleep(0.05)
            before = len(rig.heard.items)
            values = [-55.0, -61.5, None, False]
            frames = [messages.Readings(4, sequence, rig.device.now_us(), list(values)) for sequence in range(2, 12)]
            await rig.device.say(*frames[:6], messages.Notice("a", "between"), *frames[6:])
            await rig.clock.sleep(0.05)
            items = rig.heard.observations[before - len(rig.heard.contacts) :]
            told = [item.frame.coalesced if item.frame is not None else item.notices[0].code for item in items]
            assert told == [6, "a", 4]

    run_virtual(main())


def test_a_device_that_floods_is_handed_on_twenty_times_a_second_and_nothing_is_lost() -> None:
    async def main() -> None:
        async with connected(OpenJsonAdapter) as rig:
            await rig.clock.sleep(0.06)
            before = len(rig.heard.frames)
            for sequence in range(2, 102):
                # The minimum of each frame differs; the least of all is in the middle.
                values = [-55.0, -60.0 - (sequence == 51), None, False]
                await rig.device.say(messages.Readings(4, sequence, rig.device.now_us(), values))
                await rig.clock.sleep(0.01)
            await rig.clock.sleep(0.06)
            frames = rig.heard.frames[before:]
            assert sum(frame.coalesced for frame in frames) == 100
            assert 15 <= len(frames) <= 22
            assert min(frame.values[1] for frame in frames) == -61.0

    run_virtual(main())
