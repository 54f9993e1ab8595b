"""Requests are read strictly: every key, every name, every number that can't be is refused with its place."""

from __future__ import annotations

import pytest

from fleet.errors import InvalidDocument
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import points_of
from tests.planning.coordination.test_search import HOUSE


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("raster_hz = 25_000", "raster_hz = 0", "raster_hz"),
        ("raster_hz = 25_000", "raster_hz = 25_000\nluck = 3", "luck"),
        ("stop_hz = 494_000_000", "stop_hz = 469_000_000", "window[0].stop_hz"),
        ("stop_hz = 494_000_000", "stop_hz = 494.5", "window[0].stop_hz"),
        ("start_hz = 470_000_000\nstop_hz = 494_000_000", "start_hz = 470_010_000\nstop_hz = 470_020_000", "window"),
        ("stop_hz = 494_000_000", "stop_hz = 9_000_000_000", "raster_hz"),
        ("spacing_hz = 400_000", "spacing_hz = -1", "profile[0].spacing_hz"),
        ('profile = "analog"', 'profile = "digital"', "group[0].profile"),
        ("count = 14", "count = 0", "group[0].count"),
        ("count = 14", "count = 1_001", "group[0].count"),
        ("count = 14", "count = 1\nfixed_hz = [480_000_000, 481_000_000]", "group[0].fixed_hz"),
        ("count = 14", "count = 2\nfixed_hz = [480_010_000]", "group[0].fixed_hz[0]"),
        ("count = 14", "count = 2\nfixed_hz = [480_000_000, 480_000_000]", "group[0].fixed_hz[1]"),
        ("count = 14", 'count = 14\n[[isolation]]\nzones = ["House", "Moon"]', "isolation[0].zones"),
        (
            "count = 14",
            'count = 14\n[[group]]\nname = "House"\nzone = "Quay"\nprofile = "analog"\ncount = 1',
            "group[1].name",
        ),
        ("[[window]]", "[window", "document"),
    ],
)
def test_refusals(old: str, new: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        read_request(HOUSE.replace(old, new), "wrong.toml")
    assert f"wrong.toml: {key}" in str(caught.value)


def test_points_are_the_multiples_of_the_raster_within_a_window() -> None:
    request = read_request(HOUSE.replace("start_hz = 470_000_000", "start_hz = 470_010_000"), "house.toml")
    points = points_of(request, request.window[0])
    assert points[0] * 25_000 == 470_025_000
    assert points[-1] * 25_000 == 494_000_000


STRANGER = "\n[[protected]]\nfrequency_hz = 500_000_000\nspacing_hz = 400_000\n"


def test_somebody_else_said_twice_is_one_with_the_wider_spacing() -> None:
    twice = HOUSE + STRANGER + STRANGER.replace("400_000", "600_000") + 'words = "next door"\n'
    (one,) = read_request(twice, "house.toml").protected
    assert (one.frequency_hz, one.spacing_hz, one.words) == (500_000_000, 600_000, "next door")


def test_the_windows_in_another_unit_are_said_to_be() -> None:
    with pytest.raises(InvalidDocument, match="looks like MHz"):
        read_request(HOUSE.replace("470_000_000", "470").replace("494_000_000", "494"), "house.toml")


@pytest.mark.parametrize("sign", ["\\u001b", "\\n", "\\u202e", "\\u200b", "\\u0000"])
def test_names_hold_no_signs_that_turn_or_hide_text(sign: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        read_request(HOUSE.replace('name = "House"', f'name = "Ho{sign}use"'), "house.toml")
    assert caught.value.key == "group[0].name"
