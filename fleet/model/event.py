"""Events: what happened. Never dropped, never merged; the journal keeps each. The union is closed.

An event's ``kind`` and ``version`` name its shape for ever. When a shape changes, its version rises and the journal's
reader learns an upcast from the old one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.device import ContactStatus, DeviceDescription, Lease, Unlocked
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.model.person_event import PersonEvent
from fleet.model.retune_event import RetuneChanged
from fleet.model.settings import Cause
from fleet.model.show import ShowPlace, ShowStep
from fleet.model.zone import ZoneWriterChanged


@dataclass(frozen=True, slots=True)
class ContactChanged:
    """The contact with a device took another state."""

    kind: ClassVar[str] = "contact changed"
    version: ClassVar[int] = 2
    at: Moment
    contact: ContactStatus


@dataclass(frozen=True, slots=True)
class DeviceDescribed:
    """A device described itself, for the first time or differently."""

    kind: ClassVar[str] = "device described"
    version: ClassVar[int] = 2
    at: Moment
    description: DeviceDescription


@dataclass(frozen=True, slots=True)
class SettingsChanged:
    """Reported settings of one address changed. ``before`` holds the old values, absent where there were none."""

    kind: ClassVar[str] = "settings changed"
    version: ClassVar[int] = 1
    at: Moment
    address: str
    controlled_through: str
    revision: str
    cause: Cause
    settings: Mapping[str, Value]
    before: Mapping[str, Value]
    command_id: str = ""


@dataclass(frozen=True, slots=True)
class CommandChanged:
    """A command took another state; it is carried whole."""

    kind: ClassVar[str] = "command changed"
    version: ClassVar[int] = 2
    at: Moment
    command: Command


@dataclass(frozen=True, slots=True)
class AlarmChanged:
    """An alarm took another state or priority; it is carried whole. ``by`` names the person who did it, if one did."""

    kind: ClassVar[str] = "alarm changed"
    version: ClassVar[int] = 1
    at: Moment
    alarm: Alarm
    by: str = ""


@dataclass(frozen=True, slots=True)
class DocumentApplied:
    """A document took effect."""

    kind: ClassVar[str] = "document applied"
    version: ClassVar[int] = 1
    at: Moment
    document: str
    revision: int
    by: str = ""


@dataclass(frozen=True, slots=True)
class ShowMoved:
    """The show clock moved; the place it came to is carried whole.

    ``asked_cue`` is the cue that a jump named, ``trigger_id`` the trigger's id where no hand did it.
    """

    kind: ClassVar[str] = "show moved"
    version: ClassVar[int] = 1
    at: Moment
    show: ShowPlace
    step: ShowStep
    by: str
    asked_cue: str | None = None
    trigger_id: str = ""


@dataclass(frozen=True, slots=True)
class NoticeReceived:
    """A device wanted something said, or did something that must be said of it."""

    kind: ClassVar[str] = "notice received"
    version: ClassVar[int] = 1
    at: Moment
    device_id: str
    code: str
    words: str


@dataclass(frozen=True, slots=True)
class GuardChanged:
    """The guarded things of a device were unlocked, or locked again: by the person ``by``, or by themselves in time."""

    kind: ClassVar[str] = "guard changed"
    version: ClassVar[int] = 1
    at: Moment
    device_id: str
    unlocked: Unlocked | None
    by: str = ""


@dataclass(frozen=True, slots=True)
class LeaseChanged:
    """Another client may write to a device now, or this console, or nobody is known to."""

    kind: ClassVar[str] = "lease changed"
    version: ClassVar[int] = 1
    at: Moment
    device_id: str
    lease: Lease | None


@dataclass(frozen=True, slots=True)
class JournalGap:
    """The journal could not be written for a time; ``missed`` events were kept in memory, ``lost`` were not."""

    kind: ClassVar[str] = "journal gap"
    version: ClassVar[int] = 1
    at: Moment
    began_utc_us: int
    ended_utc_us: int
    missed: int
    lost: int


@dataclass(frozen=True, slots=True)
class ConsoleStarted:
    """The console started; what follows belongs to this epoch."""

    kind: ClassVar[str] = "console started"
    version: ClassVar[int] = 1
    at: Moment
    epoch: int
    software_version: str


Event = (
    ContactChanged
    | DeviceDescribed
    | SettingsChanged
    | CommandChanged
    | AlarmChanged
    | DocumentApplied
    | ShowMoved
    | NoticeReceived
    | GuardChanged
    | LeaseChanged
    | JournalGap
    | ConsoleStarted
    | PersonEvent
    | ZoneWriterChanged
    | RetuneChanged
)


@dataclass(frozen=True, slots=True)
class Recorded:
    """An event with its place in the order of this site's journal, beginning at 1."""

    sequence: int
    event: Event
