"""The device list as a document: read, written, and refused in words."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import InvalidDocument
from fleet.model.device_list import DeviceList, Expects, ListedDevice
from fleet.model.device_list_check import problem_with_list
from fleet.model.device_list_toml import DEVICES_MAXIMUM, read_device_list, write_device_list
from fleet.reach import Reach

QUAY = ListedDevice("quay-1", "ws://127.0.0.1:20001/")
HOUSE = ListedDevice("house-1", "ws://127.0.0.1:20002/", "House, left", Expects.SIMULATED, token="house", enabled=False)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
DEVICES = st.builds(ListedDevice, TEXTS, TEXTS, TEXTS, st.sampled_from(Expects), TEXTS, st.booleans())


@given(st.builds(DeviceList, st.lists(DEVICES, max_size=4).map(tuple)))
def test_what_is_written_reads_back_the_same(devices: DeviceList) -> None:
    readable = DeviceList(tuple(replace(d, device_id=d.device_id or "a", url=d.url or "b") for d in devices.devices))
    assert read_device_list(write_device_list(readable), "list.toml") == readable


def test_the_written_form_says_what_any_reader_of_toml_reads() -> None:
    read = tomllib.loads(write_device_list(DeviceList((HOUSE,))))
    assert read == {
        "device": [
            {
                "id": "house-1",
                "url": "ws://127.0.0.1:20002/",
                "label": "House, left",
                "expects": "simulated",
                "token": "house",
                "enabled": False,
            }
        ]
    }


@pytest.mark.parametrize(
    ("text", "key", "expected"),
    [
        ("device = 3", "device", "[[device]]"),
        ("colour = 1", "colour", "one of device"),
        ('[[device]]\nid = "a"', "device[0].url", "missing"),
        ('[[device]]\nid = "a"\nurl = "b"\nsecret = "c"', "device[0].secret", "one of id"),
        ('[[device]]\nid = "a"\nurl = "b"\nexpects = "ghosts"', "device[0].expects", "either, real, simulated"),
        ("device = ", "(the whole file)", "TOML"),
    ],
)
def test_a_wrong_file_is_named(text: str, key: str, expected: str) -> None:
    with pytest.raises(InvalidDocument) as raised:
        read_device_list(text, "list.toml")
    assert raised.value.key == key
    assert expected in raised.value.expected


@pytest.mark.parametrize(
    ("device", "field", "reason"),
    [
        (replace(HOUSE, device_id="House 1"), "id", "1 to 64"),
        (replace(HOUSE, device_id="pack"), "id", "not 'pack'"),
        (replace(HOUSE, device_id="quay-1"), "id", "twice"),
        (replace(HOUSE, url="ws://127.0.0.1:20001"), "url", "address of quay-1"),
        (replace(HOUSE, url="ws://127.0.0.1:22"), "url", "allowed ports"),
        (replace(HOUSE, url="ws://169.254.169.254:20001"), "url", "link-local"),
        (replace(HOUSE, url="ws://192.0.2.1:20001"), "url", "allowed networks"),
        (replace(HOUSE, url="http://127.0.0.1:20001"), "url", "ws:// or wss://"),
        (replace(HOUSE, label="a" * 129), "label", "at most 128"),
        (replace(HOUSE, label="a\u202eb"), "label", "printable"),
        (replace(HOUSE, token="Lamp light"), "token", "the name of a token"),
    ],
)
def test_a_wrong_list_is_refused_in_words(device: ListedDevice, field: str, reason: str) -> None:
    problem = problem_with_list(DeviceList((QUAY, device)), Reach())
    assert problem is not None
    assert problem.field == field
    assert reason in problem.reason


def test_a_good_list_has_no_problem_and_a_long_one_has() -> None:
    assert problem_with_list(DeviceList((QUAY, HOUSE)), Reach()) is None
    many = tuple(replace(QUAY, device_id=f"d{number}") for number in range(DEVICES_MAXIMUM + 1))
    problem = problem_with_list(DeviceList(many), Reach())
    assert problem is not None
    assert "at most" in problem.reason
