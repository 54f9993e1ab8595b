"""The lines of a trace: what a recorded session with a device is made of. docs/protocol/trace-1.0.md describes them.

Each line is one JSON object with a ``kind``. Times are microseconds of the recording console's clocks: the monotonic
one for durations, UTC for display.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, TypeVar

import msgspec
from msgspec import Meta

from fleet.model.device import ContactState, DeviceDescription
from fleet.model.fields import Value
from fleet.model.observation import CommandAnswer, Notice, SettingsReport

VERSION = "1.0"
MAJOR = "1."
LINE_BYTES_MAXIMUM = 8 << 20
"""A message of 1 MiB, written as a text within a line, stays below it."""


class Line(msgspec.Struct, frozen=True, tag_field="kind", kw_only=True):
    """What every line but the header begins with."""

    monotonic_us: int
    utc_us: int


class Header(msgspec.Struct, frozen=True, tag_field="kind", tag="trace", kw_only=True):
    """The first line of each file. ``part`` counts the files of one recording from 1."""

    version: str
    device_id: str
    software: str
    redacted: bool
    part: int
    monotonic_us: int
    utc_us: int


class Message(Line, frozen=True, tag="message", kw_only=True, omit_defaults=True):
    """One message as it travelled, after keys and tokens, and names where asked for, were taken out.

    ``text`` is what was left, or None when a message that isn't JSON was withheld; ``size_bytes`` is what travelled.
    """

    way: Literal["sent", "received"]
    size_bytes: int
    text: str | None = None


class ContactLine(Line, frozen=True, tag="contact", kw_only=True, omit_defaults=True):
    """A Contact that the adapter handed on."""

    state: ContactState
    boot_id: str = ""
    reason: str = ""
    description: DeviceDescription | None = None


class LayoutLine(Line, frozen=True, tag="layout", kw_only=True):
    """The order of the values in the frames that name its ``number``."""

    number: int
    interval_ms: int
    cells: list[tuple[str, str]]


class Frame(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A frame of readings; null is absent."""

    layout: int
    sequence: int
    device_time_us: int
    values: list[float | None]
    qualities: list[Annotated[int, Meta(ge=0, le=3)]] | None = None
    coalesced: int = 1
    age_us: int = 0


class ObservationLine(Line, frozen=True, tag="observation", kw_only=True, omit_defaults=True):
    """An Observation that the adapter handed on."""

    frame: Frame | None = None
    exact: Mapping[str, Mapping[str, Value | None]] = {}
    reports: tuple[SettingsReport, ...] = ()
    answers: tuple[CommandAnswer, ...] = ()
    notices: tuple[Notice, ...] = ()
    read_back: tuple[str, ...] = ()


class Continued(Line, frozen=True, tag="continued", kw_only=True):
    """The last line of a file that is followed by another, ``part``."""

    part: int


class End(Line, frozen=True, tag="end", kw_only=True):
    """The last line of a recording, and why it ended."""

    reason: str


Entry = Message | ContactLine | LayoutLine | ObservationLine | Continued | End

Decoded = TypeVar("Decoded")

_ENCODER = msgspec.json.Encoder()
_HEADER = msgspec.json.Decoder(Header)
_ENTRY = msgspec.json.Decoder(Entry)


def encode_line(line: Header | Entry) -> bytes:
    """A line as it is written, its end with it."""
    return _ENCODER.encode(line) + b"\n"


def decode_header(line: bytes) -> Header:
    """The first line. Raises ValueError, saying what is wrong."""
    header = _decoded(_HEADER, line)
    if not header.version.startswith(MAJOR):
        raise ValueError(f"version {header.version} of the trace; this program reads {VERSION}")
    return header


def decode_entry(line: bytes) -> Entry:
    """Any other line. Raises ValueError, saying what is wrong."""
    entry: Entry = _decoded(_ENTRY, line)
    return entry


def _decoded(decoder: msgspec.json.Decoder[Decoded], line: bytes) -> Decoded:
    try:
        return decoder.decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ValueError(str(error)[:200]) from error
