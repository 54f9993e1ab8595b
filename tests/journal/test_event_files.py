"""Each event version ever written has a file here; today's software must read it and write today's version alike."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from fleet.model.event import Event
from fleet.model.event_json import decode_event, encode_event
from tests.journal.samples import EVENTS

FOLDER = Path(__file__).parent / "events"


def file_of(event: Event) -> Path:
    return FOLDER / f"{event.kind.replace(' ', '-')}-{event.version}.json"


def test_every_kind_has_a_sample() -> None:
    assert {type(event) for event in EVENTS} == set(get_args(Event))


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.kind)
def test_the_file_of_a_version_is_read_as_the_event(event: Event) -> None:
    assert decode_event(file_of(event).read_bytes()) == event


@pytest.mark.parametrize("event", EVENTS, ids=lambda event: event.kind)
def test_an_event_is_written_as_its_file_byte_for_byte(event: Event) -> None:
    assert encode_event(event) == file_of(event).read_bytes().rstrip(b"\n")


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.json")), ids=lambda path: path.stem)
def test_no_file_is_left_unread(path: Path) -> None:
    decode_event(path.read_bytes())


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b'{"kind":"weather changed","version":1}', "unknown kind"),
        (b'{"kind":"alarm changed","version":0,"at":{"monotonic_us":1,"utc_us":1}}', "version 0 can't be read"),
        (b'{"kind":"console started","version":1,"at":{"monotonic_us":1,"utc_us":1},"epoch":"x"}', "epoch"),
        (b"[]", "not an event"),
        (b"\xff", "not an event"),
    ],
)
def test_what_is_no_event_is_refused_with_the_reason(data: bytes, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        decode_event(data)
