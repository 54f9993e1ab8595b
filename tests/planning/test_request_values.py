"""Requests as JSON values read as the file of the same meaning does."""

from __future__ import annotations

from typing import Any

import pytest

from fleet.errors import InvalidDocument
from fleet.planning.coordination.reading import read_request, request_of_values
from tests.api.fake_plans import REQUEST

FILE = """
raster_hz = 25_000
[[window]]
start_hz = 470_000_000
stop_hz = 478_000_000
[[profile]]
name = "analog"
spacing_hz = 400_000
third_two_signal_hz = 100_000
third_three_signal_hz = 100_000
[[group]]
name = "House"
zone = "House"
profile = "analog"
count = 4
"""


def test_values_and_file_are_the_same_request() -> None:
    assert request_of_values(REQUEST, "plan/quay") == read_request(FILE, "request.toml")


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"raster_hz": None}, "raster_hz"),
        ({"window": [{"start_hz": None, "stop_hz": 2}]}, "window[0].start_hz"),
        ({"group": [{**REQUEST["group"][0], "fixed_hz": [None]}]}, "group[0].fixed_hz[0]"),
        ({"surprise": 1}, "surprise"),
        ({"isolation": [{"zones": ["House", "Moon"]}]}, "isolation[0].zones"),
    ],
)
def test_what_is_wrong_is_said_with_its_key(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InvalidDocument) as found:
        request_of_values({**REQUEST, **changes}, "plan/quay")
    assert (found.value.file, found.value.key) == ("plan/quay", key)


def test_a_text_can_t_break_out_of_its_place() -> None:
    hostile = 'House" ]] [[group]] name = "Uninvited'
    values = {**REQUEST, "group": [{**REQUEST["group"][0], "name": hostile}]}
    assert [group.name for group in request_of_values(values, "plan/quay").group] == [hostile]
