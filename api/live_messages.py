"""The text messages of the live WebSocket. The binary ones are laid out in ``fleet.feed_frames``.

``type`` tells them apart. Members are those of the facts in ``fleet.model``, by the same codec as everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from api.answers import PersonView
from fleet.model.act import ProgressView
from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.fields import Value
from fleet.model.matter import Matter
from fleet.model.quality import Quality
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot, TableView

RATE_HZ_MAXIMUM = 10


class SnapshotMessage(msgspec.Struct, frozen=True, tag_field="type", tag="snapshot"):
    """The whole picture; replaces everything that came before. A binary *recent* message follows."""

    person: PersonView
    version: str
    snapshot: Snapshot


class EventsMessage(msgspec.Struct, frozen=True, tag_field="type", tag="events"):
    """Events in the order of their sequence numbers; each is sent once."""

    events: tuple[Mapping[str, Any], ...]


class ExactMessage(msgspec.Struct, frozen=True, tag_field="type", tag="exact"):
    """Changes of text and exact-integer readings by address and name; null is absent."""

    values: Mapping[str, Mapping[str, Value | None]]


class ProgressMessage(msgspec.Struct, frozen=True, tag_field="type", tag="progress"):
    """How far acts are, by command; only those of which more was heard."""

    progress: Mapping[str, ProgressView]


class TablesMessage(msgspec.Struct, frozen=True, tag_field="type", tag="tables"):
    """The tables whose rows grew; rows are only ever appended within an epoch."""

    tables: tuple[TableView, ...]


class MattersMessage(msgspec.Struct, frozen=True, tag_field="type", tag="matters"):
    """All matters, root cause first; replaces the list before."""

    matters: tuple[Matter, ...]


class AheadMessage(msgspec.Struct, frozen=True, tag_field="type", tag="ahead"):
    """The evening ahead changed: the show clock moved, or times and minutes slid. Replaces what came before."""

    ahead: Ahead


class JournalMessage(msgspec.Struct, frozen=True, tag_field="type", tag="journal"):
    """The state of the journal changed."""

    journal: JournalStatus


class SettingsMessage(msgspec.Struct, frozen=True, tag_field="type", tag="settings"):
    """The settings of some addresses changed; each is carried whole."""

    settings: tuple[SettingsView, ...]


class LiveReading(msgspec.Struct, frozen=True):
    """One value of a plain-JSON frame. null is absent; a coded value is its number."""

    value: float | None
    quality: Quality
    age_s: float | None


class ReadingsMessage(msgspec.Struct, frozen=True, tag_field="type", tag="readings"):
    """One table's readings as plain JSON, for people (``form: "json"``)."""

    at_utc_us: int
    table: Place
    columns: tuple[str, ...]
    rows: Mapping[str, Mapping[str, LiveReading]]


class ByeMessage(msgspec.Struct, frozen=True, tag_field="type", tag="bye"):
    """The server closes the connection, and says why in words."""

    reason: str


LiveMessage = (
    SnapshotMessage
    | EventsMessage
    | ExactMessage
    | ProgressMessage
    | TablesMessage
    | MattersMessage
    | AheadMessage
    | JournalMessage
    | SettingsMessage
    | ReadingsMessage
    | ByeMessage
)
