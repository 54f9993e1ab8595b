"""Reading bodies: what no JSON reader agrees on is refused before a model sees it."""

from __future__ import annotations

import json
import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.body import DEPTH_MAXIMUM, INTEGER_MAXIMUM, parse_json
from api.roles import Role
from tests.api.conftest import Stage, make_stage

HOSTILE: list[tuple[bytes, str]] = [
    (b"", "not JSON"),
    (b"{", "not JSON"),
    (b"\xff\xfe{\x00}\x00", "not UTF-8"),
    (b"\xef\xbb\xbf{}", "not JSON"),
    (b'{"a":NaN}', "not finite"),
    (b'{"a":Infinity}', "not finite"),
    (b'{"a":-Infinity}', "not finite"),
    (b'{"a":1e999}', "not finite"),
    (b'{"a":-1e999}', "not finite"),
    (b'{"a":"\\ud800"}', "surrogate"),
    (b'{"\\udfff":1}', "surrogate"),
    (b'{"a":1,"a":2}', "twice"),
    (b'{"a":{"b":1,"b":1}}', "twice"),
    (b'{"a":9007199254740992}', "2^53"),
    (b'{"a":' + b"9" * 5_000 + b"}", "2^53"),
    (b"[" * 33 + b"]" * 33, "deep"),
    (b"[" * 500_000, "deep"),
    (b'{"a":' * 100_000, "deep"),
    (b'{"a":1}x', "not JSON"),
    (b"{'a':1}", "not JSON"),
    (b'{"a":01}', "not JSON"),
    (b'"\x00"', "not JSON"),
]


@pytest.mark.parametrize(("body", "words"), HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_json_is_refused_in_words(body: bytes, words: str) -> None:
    with pytest.raises(ValueError, match=re.escape(words)):
        parse_json(body)


@pytest.mark.parametrize(("body", "words"), HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("path", ["/api/v1/alarms/acknowledge", "/api/v1/packs/k01/settings"])
def test_hostile_json_is_400_at_the_api(path: str, body: bytes, words: str) -> None:
    client = STAGE.client(Role.ENGINEER)
    method = "PATCH" if path.endswith("settings") else "POST"
    answer = client.request(
        method, path, content=body, headers={"Content-Type": "application/json", "If-Match": '"b1.1"'}
    )
    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable-body")
    assert words in answer.json()["detail"]


STAGE = make_stage()


def test_the_bounds_themselves_pass() -> None:
    deepest = "[" * DEPTH_MAXIMUM + "]" * DEPTH_MAXIMUM
    assert parse_json(deepest) == json.loads(deepest)
    assert parse_json(f"[{INTEGER_MAXIMUM},{-INTEGER_MAXIMUM}]") == [INTEGER_MAXIMUM, -INTEGER_MAXIMUM]
    assert parse_json('"\\ud83d\\ude00"') == "\N{GRINNING FACE}"


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-INTEGER_MAXIMUM, INTEGER_MAXIMUM)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=4)
    ),
    max_leaves=20,
)


@given(value=plain)
def test_whatever_json_can_say_is_read_as_python_s_own_reader_reads_it(value: Any) -> None:
    text = json.dumps(value)
    assert parse_json(text.encode()) == json.loads(text)


@given(data=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        value = parse_json(data)
    except ValueError:
        return
    assert not isinstance(value, float) or math.isfinite(value)


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"alarm_ids": []}, "/alarm_ids"),
        ({"alarm_ids": ["x"] * 501}, "/alarm_ids"),
        ({"alarm_ids": [1]}, "/alarm_ids/0"),
        ({"alarm_ids": ["ok", ""]}, "/alarm_ids/1"),
        ({"alarm_ids": None}, "/alarm_ids"),
        ({"alarm_ids": ["ok"], "lantern": 1}, ""),
        ({}, "/alarm_ids"),
        ([], ""),
        ("x", ""),
    ],
)
def test_a_wrong_shape_is_422_and_pointed_at(stage: Stage, body: object, pointer: str) -> None:
    answer = stage.client(Role.ENGINEER).post("/api/v1/alarms/acknowledge", json=body)
    assert (answer.status_code, answer.json()["code"]) == (422, "invalid-request")
    assert pointer in {fault["pointer"] for fault in answer.json()["faults"]}
