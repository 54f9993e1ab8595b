"""The one door in: size, depth, finite numbers, strict kinds."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import MalformedMessage
from fleet.protocol import codec, messages
from fleet.protocol.codec import Limits, checked_bytes, decode_body, decode_envelope, encode_notification
from fleet.protocol.depth import exceeds_depth
from fleet.protocol.readings_values import qualities_of, values_of

NESTED = st.recursive(
    st.none() | st.text('[]{}"\\ab', max_size=6) | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text('[{"\\', max_size=3), inner, max_size=3),
    max_leaves=20,
)


def depth_of(value: object) -> int:
    """The depth of a value that Python's own reader has parsed."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else None
    return 0 if inner is None else 1 + max((depth_of(item) for item in inner), default=0)


@given(value=NESTED, maximum=st.integers(0, 6))
def test_depth_is_found_without_parsing(value: object, maximum: int) -> None:
    assert exceeds_depth(json.dumps(value).encode(), maximum) == (depth_of(value) > maximum)


@pytest.mark.parametrize("depth", [32, 33])
def test_the_depth_limit_is_where_it_is_said_to_be(depth: int) -> None:
    data = b"[" * depth + b"]" * depth
    if depth <= 32:
        assert checked_bytes(data) == data
    else:
        with pytest.raises(MalformedMessage, match="nested more than 32 deep"):
            checked_bytes(data)


def test_the_size_limit_is_where_it_is_said_to_be() -> None:
    assert len(checked_bytes(b" " * (1 << 20))) == 1 << 20
    with pytest.raises(MalformedMessage, match="1048577 bytes"):
        checked_bytes(b" " * ((1 << 20) + 1))


def test_depth_that_a_caller_allows_beyond_the_parser_is_still_malformed() -> None:
    with pytest.raises(MalformedMessage):
        decode_envelope(checked_bytes(b"[" * 200_000, Limits(depth=1_000_000)))


BAD_READINGS = ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", '"1"', "[]", "{}", "1" * 400, "01", "+1", ".5"]


@pytest.mark.parametrize("text", BAD_READINGS)
def test_a_reading_is_a_finite_number(text: str) -> None:
    raw = f'{{"subscription":1,"sequence":1,"device_time_us":1,"values":[{text}]}}'.encode()
    with pytest.raises(MalformedMessage):
        decode_body("readings", raw, messages.Readings)


@given(
    text=st.from_regex(r"-?(0|[1-9][0-9]{0,30})(\.[0-9]{1,30})?([eE][+-]?[0-9]{1,3})?", fullmatch=True),
)
def test_no_number_that_is_read_is_infinite(text: str) -> None:
    raw = f'{{"subscription":1,"sequence":1,"device_time_us":1,"values":[{text}]}}'.encode()
    try:
        frame = decode_body("readings", raw, messages.Readings)
    except MalformedMessage:
        assert math.isinf(float(text)) or math.isnan(float(text))
    else:
        # Python's own reader is the judge of the value.
        assert values_of(frame, 1)[0] == pytest.approx(float(text), rel=1e-15)


def test_values_keep_absent_apart_from_zero_and_false() -> None:
    frame = messages.Readings(1, 1, 1, [0.0, None, False, True, -3.5])
    values = values_of(frame, 5)
    assert np.isnan(values).tolist() == [False, True, False, False, False]
    assert values[[0, 2, 3, 4]].tolist() == [0.0, 0.0, 1.0, -3.5]
    with pytest.raises(MalformedMessage, match="5 values where the layout has 4"):
        values_of(frame, 4)


def test_qualities_beyond_the_frame_are_malformed() -> None:
    frame = messages.Readings(1, 1, 1, [1.0, None, 2.0], {2: 3})
    values = values_of(frame, 3)
    qualities = qualities_of(frame, values)
    assert qualities is not None
    assert qualities.tolist() == [1, 0, 3]
    with pytest.raises(MalformedMessage):
        qualities_of(messages.Readings(1, 1, 1, [1.0], {1: 3}), values[:1])


def test_not_a_number_travels_as_absent() -> None:
    encoded = encode_notification(messages.Readings(1, 1, 1, [math.nan, 1.0]))
    assert json.loads(encoded)["params"]["values"] == [None, 1.0]


BAD_NOTIFICATIONS = [
    {"address": "quay-1\n", "revision": "b.1", "cause": "panel", "settings": {}},
    {"address": "quay-1", "revision": "b.1\n", "cause": "panel", "settings": {}},
    {"address": "quay-1", "revision": "b1", "cause": "panel", "settings": {}},
    {"address": "Quay 1", "revision": "b.1", "cause": "panel", "settings": {}},
    {"address": "quay-1", "revision": "b.1", "cause": "weather", "settings": {}},
    {"address": "quay-1", "revision": "b.1", "cause": "panel", "settings": {"low cut": 1}},
    {"address": "quay-1", "revision": "b.1", "cause": "panel", "settings": {"low_cut_hz": None}},
    {"address": "quay-1", "revision": "b.1", "cause": "panel", "settings": {"low_cut_hz": [80]}},
    {"address": "quay-1", "revision": "b.1", "cause": "panel", "settings": {"low_cut_hz": 2**53}},
    {"address": "quay-1", "revision": "b.1", "cause": "panel"},
]


@pytest.mark.parametrize("params", BAD_NOTIFICATIONS, ids=str)
def test_kinds_are_strict(params: object) -> None:
    with pytest.raises(MalformedMessage):
        decode_body("changed", json.dumps(params).encode(), messages.Changed)


def test_where_a_member_stands_twice_the_last_one_counts_at_every_step() -> None:
    envelope = decode_envelope(b'{"jsonrpc":"2.0","method":"write","method":"notice","params":{}}')
    assert envelope.method == "notice"


@pytest.mark.parametrize("data", [b"[]", b'[{"jsonrpc":"2.0"}]', b"1", b"null", b"", b'{"jsonrpc":2.0}', b'{"id":1}'])
def test_no_batch_and_nothing_else_is_a_message(data: bytes) -> None:
    with pytest.raises(MalformedMessage):
        decode_envelope(data)


def test_a_reason_is_short_enough_to_be_shown() -> None:
    assert len(codec.reason_of("message", ValueError("x" * 10_000))) <= 200
