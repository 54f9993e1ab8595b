"""The whole live picture at one moment, as a subscriber gets it before the changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.device import DeviceView
from fleet.model.fields import Plane, Value
from fleet.model.matter import Matter
from fleet.model.production import Production
from fleet.model.settings import SettingsView
from fleet.model.zone import ZoneWriter


@dataclass(frozen=True, slots=True)
class ColumnView:
    """One column of a live table. ``choices`` are the words of a coded column, by number."""

    name: str
    plane: Plane
    unit: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TableView:
    """The shape of one live table: its rows by address, its columns. Indices are fixed within an epoch."""

    place: Place
    rows: tuple[str, ...]
    columns: tuple[ColumnView, ...]


@dataclass(frozen=True, slots=True)
class JournalStatus:
    """Whether the journal is being written, when it last was, and what waits in memory."""

    writable: bool
    written_utc_us: int | None
    waiting: int
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything but the readings themselves, which follow as frames, and the recent past.

    ``sequence`` is that of the last event contained. ``exact`` holds text and exact-integer readings by address,
    ``zones`` those in which one person alone writes.
    """

    epoch: int
    sequence: int
    at_utc_us: int
    production: Production
    production_revision: int
    ahead: Ahead
    devices: tuple[DeviceView, ...]
    tables: tuple[TableView, ...]
    settings: tuple[SettingsView, ...]
    exact: Mapping[str, Mapping[str, Value]]
    commands: tuple[Command, ...]
    alarms: tuple[Alarm, ...]
    matters: tuple[Matter, ...]
    journal: JournalStatus
    zones: tuple[ZoneWriter, ...] = ()
