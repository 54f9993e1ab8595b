"""Requests as JSON values read as the file of the same meaning does; the standard library's reader is the judge."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import InvalidDocument
from fleet.planning.coordination.request import read_request
from fleet.planning.coordination.request_values import DEPTH_MAXIMUM, request_of_values, request_text
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
# TOML's integers have 64 bits; no key of a request is as odd as these, but none may mean something else either.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
PLAIN = st.booleans() | st.integers(-(2**63), 2**63 - 1) | TEXTS | st.floats(-1e6, 1e6).map(lambda each: each + 0.5)
VALUES = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3), max_leaves=8
)


def test_values_and_file_are_the_same_request() -> None:
    assert request_of_values(REQUEST, "plan/quay") == read_request(FILE, "request.toml")


@given(st.dictionaries(TEXTS, VALUES, max_size=5))
def test_whatever_is_written_reads_as_it_was(values: dict[str, Any]) -> None:
    assert tomllib.loads(request_text(values)) == values


def test_what_lies_too_deep_is_refused() -> None:
    values: Any = 1
    for _ in range(DEPTH_MAXIMUM):
        values = [values]
    with pytest.raises(InvalidDocument, match="deep"):
        request_text({"window": values})


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"raster_hz": None}, "raster_hz"),
        ({"window": [{"start_hz": None, "stop_hz": 2}]}, "window.start_hz"),
        ({"group": [{**REQUEST["group"][0], "fixed_hz": [None]}]}, "group.fixed_hz"),
        ({"surprise": 1}, "surprise"),
        ({"isolation": [{"zones": ["House", "Moon"]}]}, "isolation[0].zones"),
    ],
)
def test_what_is_wrong_is_said_with_its_key(changes: dict[str, Any], key: str) -> None:
    with pytest.raises(InvalidDocument) as found:
        request_of_values({**REQUEST, **changes}, "plan/quay")
    assert (found.value.file, found.value.key) == ("plan/quay", key)


def test_a_text_can_t_break_out_of_its_place() -> None:
    hostile = 'House"\n[[group]]\nname = "Uninvited'
    values = {**REQUEST, "group": [{**REQUEST["group"][0], "name": hostile}]}
    assert [group.name for group in request_of_values(values, "plan/quay").group] == [hostile]
