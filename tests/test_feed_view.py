"""Which rows and columns a view shows, and how skipped frames are merged."""

from __future__ import annotations

import json
import math
import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import NotFound, ValueRefused
from fleet.feed_frames import Stamp
from fleet.feed_merge import Form, Frame
from fleet.feed_view import Selection, View
from fleet.model.address import Place
from fleet.model.quality import Quality
from tests.picture import START, PictureByHand

NAN = float("nan")


def stamp(sequence: int = 1) -> Stamp:
    return Stamp(1, sequence, START.later(0.5))


def frame_of(picture: PictureByHand, **view: object) -> Frame:
    return Selection(View(**view)).frame(stamp(), picture.tables)  # type: ignore[arg-type]  # Tests pass a view's members.


def shown(frame: Frame, place: Place) -> dict[str, dict[str, dict[str, float | None]]]:
    """One table of a plain-JSON frame."""
    for message in frame.messages():
        body = json.loads(message)
        if body["table"] == place:
            rows: dict[str, dict[str, dict[str, float | None]]] = body["rows"]
            return rows
    raise AssertionError(f"no frame of the {place} table")


def test_by_default_every_table_and_column_is_shown() -> None:
    picture = PictureByHand()
    picture.put(Place.CHANNEL, "peak_dbfs", [-15.0, -20.0])
    headers = [struct.unpack_from("<BBBBI", message) for message in frame_of(picture).messages()]  # type: ignore[arg-type]  # Binary by default.
    assert [header[2] for header in headers] == [0, 1, 2, 3, 4, 6, 7], "outputs have settings only"
    assert headers[3][3] == len(picture.tables[Place.CHANNEL].fields)
    assert headers[3][4] == 2


def test_a_view_narrows_columns_and_rows_in_its_own_order() -> None:
    picture = PictureByHand()
    picture.put(Place.CHANNEL, "peak_dbfs", [-15.0, -20.0, -30.0])
    rows = ("quay-1/channel/2", "quay-1/channel/99", "quay-1/channel/0")
    frame = frame_of(
        picture, form=Form.JSON, columns={Place.CHANNEL: ("peak_dbfs",)}, rows={Place.CHANNEL: rows, Place.PACK: ()}
    )
    assert len(frame.messages()) == 1
    assert list(shown(frame, Place.CHANNEL)) == list(rows)
    assert shown(frame, Place.CHANNEL) == {
        "quay-1/channel/2": {"peak_dbfs": {"value": -30.0, "quality": 1, "age_s": 0.5}},
        "quay-1/channel/99": {"peak_dbfs": {"value": None, "quality": 0, "age_s": None}},
        "quay-1/channel/0": {"peak_dbfs": {"value": -15.0, "quality": 1, "age_s": 0.5}},
    }


def test_a_row_that_appears_later_is_shown_from_then_on() -> None:
    picture = PictureByHand()
    selection = Selection(View(form=Form.JSON, rows={Place.CHANNEL: ("quay-1/channel/0",)}))
    before = selection.frame(stamp(), picture.tables)
    picture.put(Place.CHANNEL, "peak_dbfs", [-15.0])
    after = selection.frame(stamp(), picture.tables)
    assert shown(before, Place.CHANNEL)["quay-1/channel/0"]["peak_dbfs"]["value"] is None
    assert shown(after, Place.CHANNEL)["quay-1/channel/0"]["peak_dbfs"]["value"] == -15.0


def test_a_frame_keeps_its_values_when_the_tables_move_on() -> None:
    picture = PictureByHand()
    picture.put(Place.CHANNEL, "peak_dbfs", [-15.0])
    frame = frame_of(picture, form=Form.JSON)
    picture.put(Place.CHANNEL, "peak_dbfs", [-3.0])
    assert shown(frame, Place.CHANNEL)["quay-1/channel/0"]["peak_dbfs"]["value"] == -15.0


@pytest.mark.parametrize(
    ("view", "error"),
    [
        (View(rate_hz=0), ValueRefused),
        (View(rate_hz=11), ValueRefused),
        (View(columns={Place.CHANNEL: ("loudness",)}), NotFound),
        (View(rows={Place.PACK: ("pack/k1",) * 20_001}), ValueRefused),
    ],
)
def test_a_view_that_cannot_be_shown_is_refused(view: View, error: type[Exception]) -> None:
    with pytest.raises(error):
        view.check()


def test_views_that_see_the_same_share_a_key() -> None:
    one = View(columns={Place.PACK: ("asleep",), Place.CHANNEL: ("peak_dbfs",)})
    other = View(columns={Place.CHANNEL: ("peak_dbfs",), Place.PACK: ("asleep",)})
    assert one.key == other.key
    assert one.key != View().key
    assert one.key != View(5, columns=one.columns).key


def merged_value(place: Place, name: str, *steps: tuple[float, Quality]) -> float | None:
    """What is shown of one cell after frames of which only the last was."""
    picture = PictureByHand()
    selection = Selection(View(form=Form.JSON))
    held: Frame | None = None
    for value, quality in steps:
        picture.put(place, name, [value], quality)
        frame = selection.frame(stamp(), picture.tables)
        held = frame if held is None else frame.after(held)
    assert held is not None
    (row,) = shown(held, place).values()
    return row[name]["value"]


GOOD, BAD, UNCERTAIN, ABSENT = Quality.GOOD, Quality.BAD, Quality.UNCERTAIN, Quality.ABSENT


@pytest.mark.parametrize(
    ("place", "name", "steps", "expected"),
    [
        # The rules of merging: minima keep the least, maxima the most, flags are OR-ed, the rest is the latest.
        (Place.BRANCH, "rf_min_dbm", [(-60.0, GOOD), (-99.0, GOOD), (-70.0, GOOD)], -99.0),
        (Place.BRANCH, "rf_max_dbm", [(-60.0, GOOD), (-40.0, GOOD), (-70.0, GOOD)], -40.0),
        (Place.BRANCH, "rf_dbm", [(-60.0, GOOD), (-40.0, GOOD), (-70.0, GOOD)], -70.0),
        (Place.CARRIER, "foreign", [(0.0, GOOD), (1.0, GOOD), (0.0, GOOD)], 1.0),
        (Place.PACK, "asleep", [(1.0, GOOD), (0.0, GOOD)], 0.0),
        (Place.CHANNEL, "audio_damage_fraction", [(0.8, GOOD), (0.0, GOOD)], 0.8),
        # What wasn't good doesn't count as an extreme; one that was good before stays.
        (Place.CHANNEL, "peak_dbfs", [(5.0, BAD), (-20.0, GOOD)], -20.0),
        (Place.CHANNEL, "peak_dbfs", [(-3.0, GOOD), (-9.0, UNCERTAIN), (-20.0, GOOD)], -3.0),
        # Nothing known any more: no extreme of the past looks live.
        (Place.CHANNEL, "peak_dbfs", [(-3.0, GOOD), (NAN, ABSENT)], None),
        (Place.CHANNEL, "peak_dbfs", [(NAN, ABSENT), (-20.0, GOOD)], -20.0),
    ],
)
def test_merging_keeps_the_truth(
    place: Place, name: str, steps: list[tuple[float, Quality]], expected: float | None
) -> None:
    assert merged_value(place, name, *steps) == expected


@given(st.lists(st.floats(-144, 0), min_size=1, max_size=12))
def test_a_peak_survives_however_many_frames_are_skipped(peaks: list[float]) -> None:
    assert merged_value(Place.CHANNEL, "peak_dbfs", *((peak, GOOD) for peak in peaks)) == np.max(peaks)


def test_rows_that_appear_between_skipped_frames_have_no_past() -> None:
    picture = PictureByHand()
    selection = Selection(View(form=Form.JSON))
    picture.put(Place.CHANNEL, "peak_dbfs", [-3.0])
    first = selection.frame(stamp(), picture.tables)
    picture.put(Place.CHANNEL, "peak_dbfs", [-20.0, -30.0])
    rows = shown(selection.frame(stamp(), picture.tables).after(first), Place.CHANNEL)
    assert [row["peak_dbfs"]["value"] for row in rows.values()] == [-3.0, -30.0]


def test_those_equally_behind_share_the_merged_frame_and_its_encoding() -> None:
    picture = PictureByHand()
    selection = Selection(View())
    first, second = (selection.frame(stamp(number), picture.tables) for number in (1, 2))
    assert second.after(first) is second.after(first)
    assert second.after(first).messages() is second.after(first).messages()
    assert second.after(second) is not second.after(first)


def test_an_absent_number_is_null_for_people() -> None:
    picture = PictureByHand()
    picture.put(Place.PACK, "battery_v", [NAN], ABSENT)
    (row,) = shown(frame_of(picture, form=Form.JSON), Place.PACK).values()
    assert row["battery_v"] == {"value": None, "quality": 0, "age_s": None}
    assert not math.isnan(row["battery_v"]["quality"] or 0)
