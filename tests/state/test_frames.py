from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.address import Place
from fleet.model.event import NoticeReceived
from fleet.model.observation import Layout, Observation, ReadingFrame
from fleet.model.quality import Quality
from tests.small_fleet import Hand

BRANCH = "quay-1/carrier/1/branch/a"
THEIRS = "quay-2/carrier/1/branch/a"
CELLS = (
    (BRANCH, "rf_dbm"),
    (BRANCH, "rf_min_dbm"),
    (BRANCH, "rf_max_dbm"),
    ("quay-1/carrier/1", "foreign"),
    (BRANCH, "floor_method"),
    ("pack/quay-1-1", "asleep"),
)
Cell = tuple[float, Quality]


def ready(interval_ms: int = 100) -> tuple[Hand, Layout]:
    hand = Hand()
    hand.connect("quay-1")
    hand.connect("quay-2")
    return hand, Layout(CELLS, interval_ms)


def send(hand: Hand, layout: Layout, values: list[float], qualities: list[int] | None = None) -> None:
    given = None if qualities is None else np.array(qualities, dtype=np.uint8)
    hand.give(Observation(hand.at, "quay-1", frame=ReadingFrame(layout, 1, 0, np.array(values), given)))


def cell(hand: Hand, address: str, name: str, place: Place) -> Cell:
    table = hand.pipeline.tables[place]
    row, column = table.row_of(address), table.column_of[name]
    assert row is not None
    return float(table.values[column, row]), Quality(int(table.qualities[column, row]))


def level(hand: Hand, name: str = "rf_dbm") -> Cell:
    return cell(hand, BRANCH, name, Place.BRANCH)


def test_values_arrive_with_the_next_tick() -> None:
    hand, layout = ready()
    send(hand, layout, [-50.0, -60.0, -40.0, 0.0, 1.0, 0.0])
    assert level(hand)[1] is Quality.ABSENT
    hand.run(0.1)
    assert level(hand) == (-50.0, Quality.GOOD)
    assert cell(hand, BRANCH, "floor_method", Place.BRANCH) == (1.0, Quality.GOOD)
    assert cell(hand, "pack/quay-1-1", "asleep", Place.PACK) == (0.0, Quality.GOOD)


def test_merging_keeps_the_truth() -> None:
    hand, layout = ready()
    send(hand, layout, [-50.0, -90.0, -40.0, 1.0, 0.0, 1.0])
    send(hand, layout, [-51.0, -60.0, -20.0, 0.0, 1.0, 0.0])
    send(hand, layout, [-52.0, -70.0, -45.0, 0.0, 2.0, 0.0])
    hand.run(0.1)
    assert [level(hand, name)[0] for name in ("rf_dbm", "rf_min_dbm", "rf_max_dbm")] == [-52.0, -90.0, -20.0]
    assert cell(hand, "quay-1/carrier/1", "foreign", Place.CARRIER)[0] == 1.0
    assert cell(hand, BRANCH, "floor_method", Place.BRANCH)[0] == 2.0
    assert cell(hand, "pack/quay-1-1", "asleep", Place.PACK)[0] == 0.0


@given(st.lists(st.lists(st.floats(-150.0, 20.0), min_size=6, max_size=6), min_size=1, max_size=80))
def test_any_number_of_frames_merges_to_least_most_and_latest(frames: list[list[float]]) -> None:
    hand, layout = ready()
    for values in frames:
        send(hand, layout, [*values[:3], 0.0, 0.0, 0.0])
    hand.run(0.1)
    assert level(hand)[0] == frames[-1][0]
    assert level(hand, "rf_min_dbm")[0] == min(values[1] for values in frames)
    assert level(hand, "rf_max_dbm")[0] == max(values[2] for values in frames)


def test_a_bad_value_takes_no_part_in_a_least() -> None:
    hand, layout = ready()
    send(hand, layout, [-50.0, -150.0, -40.0, 0.0, 0.0, 0.0], [1, 3, 1, 1, 1, 1])
    send(hand, layout, [-50.0, -60.0, -40.0, 0.0, 0.0, 0.0])
    hand.run(0.1)
    assert level(hand, "rf_min_dbm") == (-60.0, Quality.GOOD)


@pytest.mark.parametrize(
    ("value", "quality", "expected"),
    [
        (-161.0, 1, Quality.BAD),
        (31.0, 1, Quality.BAD),
        (-50.0, 3, Quality.BAD),
        (-50.0, 200, Quality.BAD),
        (-50.0, 2, Quality.UNCERTAIN),
        (-50.0, 0, Quality.ABSENT),
        (float("nan"), 1, Quality.ABSENT),
        (-50.0, 1, Quality.GOOD),
    ],
)
def test_quality_is_the_devices_word_unless_the_value_can_not_be(value: float, quality: int, expected: Quality) -> None:
    hand, layout = ready()
    send(hand, layout, [value, -60.0, -40.0, 0.0, 0.0, 0.0], [quality, 1, 1, 1, 1, 1])
    hand.run(0.1)
    assert level(hand)[1] is expected


@pytest.mark.parametrize("value", [-1.0, 3.0, 0.5])
def test_a_coded_value_that_is_no_choice_is_bad(value: float) -> None:
    hand, layout = ready()
    send(hand, layout, [-50.0, -60.0, -40.0, 0.0, value, 0.0])
    hand.run(0.1)
    assert cell(hand, BRANCH, "floor_method", Place.BRANCH)[1] is Quality.BAD


@pytest.mark.parametrize(("interval_ms", "good_s"), [(100, 2.0), (1_000, 2.0), (1_500, 3.0)])
def test_a_value_is_uncertain_after_two_seconds_or_two_intervals(interval_ms: int, good_s: float) -> None:
    hand, layout = ready(interval_ms)
    send(hand, layout, [-50.0, -60.0, -40.0, 0.0, 0.0, 0.0])
    hand.run(good_s)
    assert level(hand) == (-50.0, Quality.GOOD)
    hand.run(0.1)
    assert level(hand) == (-50.0, Quality.UNCERTAIN)
    ages = hand.pipeline.tables[Place.BRANCH].ages_100ms(hand.at)
    assert ages[0, 0] == round(good_s * 10) + 1


def held_up(hand: Hand, layout: Layout, seconds: float) -> None:
    """Send a frame that was so long on its way."""
    values = np.array([-50.0, -60.0, -40.0, 0.0, 0.0, 0.0])
    frame = ReadingFrame(layout, 1, 0, values, age_us=round(seconds * 1e6))
    hand.give(Observation(hand.at, "quay-1", frame=frame))


def test_the_age_of_a_value_counts_from_its_measurement() -> None:
    hand, layout = ready()
    hand.run(5.0)
    held_up(hand, layout, 1.5)
    hand.run(0.5)
    assert hand.pipeline.tables[Place.BRANCH].ages_100ms(hand.at)[0, 0] == 20
    assert level(hand) == (-50.0, Quality.GOOD)
    hand.run(0.1)
    assert level(hand) == (-50.0, Quality.UNCERTAIN)


def test_no_frame_is_older_than_the_one_before_it() -> None:
    hand, layout = ready()
    hand.run(5.0)
    send(hand, layout, [-50.0, -60.0, -40.0, 0.0, 0.0, 0.0])
    held_up(hand, layout, 1.5)
    hand.run(0.5)
    assert hand.pipeline.tables[Place.BRANCH].ages_100ms(hand.at)[0, 0] == 5


def test_unknown_cells_are_left_out_with_one_notice() -> None:
    hand, _ = ready()
    layout = Layout(
        ((BRANCH, "rf_dbm"), (BRANCH, "charm"), (THEIRS, "floor_dbm"), ("x//", "rf_dbm"), (BRANCH, "name")),
        100,
    )
    for _ in range(3):
        frame = ReadingFrame(layout, 1, 0, np.array([-50.0, 1.0, -1.0, 2.0, 3.0]))
        hand.give(Observation(hand.at, "quay-1", frame=frame))
        hand.run(0.1)
    notices = [event for event in hand.events if isinstance(event, NoticeReceived)]
    assert [notice.code for notice in notices] == ["readings-unknown"]
    assert f"{BRANCH} charm" in notices[0].words
    assert level(hand) == (-50.0, Quality.GOOD)
    assert cell(hand, THEIRS, "floor_dbm", Place.BRANCH)[1] is Quality.ABSENT


def test_a_frame_of_the_wrong_length_is_left_out() -> None:
    hand, layout = ready()
    send(hand, layout, [-50.0])
    hand.run(0.1)
    assert level(hand)[1] is Quality.ABSENT
    assert [event.code for event in hand.events if isinstance(event, NoticeReceived)] == ["readings-unknown"]


def test_devices_do_not_mix_in_a_batch() -> None:
    hand = Hand()
    ids = [f"d{number}" for number in range(5)]
    for device_id in ids:
        hand.connect(device_id)
    for turn in range(4):
        for index, device_id in enumerate(ids):
            if (turn + index) % 2:
                hand.frame(device_id, {"rf_dbm": -50.0 - index - 10 * turn})
        hand.run(0.1)
    table = hand.pipeline.tables[Place.BRANCH]
    for index, device_id in enumerate(ids):
        row = table.row_of(f"{device_id}/carrier/1/branch/a")
        assert row is not None
        turn = max(turn for turn in range(4) if (turn + index) % 2)
        assert table.values[table.column_of["rf_dbm"], row] == -50.0 - index - 10 * turn


def test_rows_never_move() -> None:
    hand, _ = ready()
    before = {place: hand.pipeline.tables[place].addresses for place in Place}
    version = hand.pipeline.tables.version
    hand.connect("quay-3")
    hand.connect("quay-1", channels=1)
    hand.connect("quay-1", channels=2)
    for place in Place:
        assert hand.pipeline.tables[place].addresses[: len(before[place])] == before[place]
    assert hand.pipeline.tables.version == version + 1
