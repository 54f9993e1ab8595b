"""What goes into the pipeline. Each input carries its moment; the union is closed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.event import ShowMoved
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation
from fleet.model.production import Production
from fleet.model.rule import Rule
from fleet.model.show import ShowStep
from fleet.model.zone import ScreensChanged, ZoneAct, ZoneWriterChanged


@dataclass(frozen=True, slots=True)
class RequestWrite:
    """Somebody asks for settings of one thing to change. ``revision`` is the one they saw."""

    command_id: str
    target: str
    changes: Mapping[str, Value]
    revision: str


@dataclass(frozen=True, slots=True)
class RequestAct:
    """Somebody asks for something to be done that is no setting. Arguments may be secret, so none are ever printed."""

    command_id: str
    target: str
    act: str
    arguments: Mapping[str, Value] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True)
class UnlockDevice:
    """Somebody unlocks the guarded things of a device for some minutes, and says why."""

    device_id: str
    reason: str
    minutes: int


@dataclass(frozen=True, slots=True)
class LockDevice:
    """Somebody locks the guarded things of a device again before their time."""

    device_id: str


@dataclass(frozen=True, slots=True)
class TakeLease:
    """Somebody takes the lease of a device from whoever holds it."""

    device_id: str


@dataclass(frozen=True, slots=True)
class CancelCommand:
    """Somebody gives up a command that isn't terminal yet."""

    command_id: str


@dataclass(frozen=True, slots=True)
class CloseUnknown:
    """A named person closes a command whose outcome nothing can tell."""

    command_id: str
    reason: str


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """Somebody acknowledges alarms."""

    alarm_ids: tuple[str, ...]


DeviceAct = RequestWrite | RequestAct | UnlockDevice | LockDevice | TakeLease
Act = DeviceAct | CancelCommand | CloseUnknown | Acknowledge | ZoneAct


@dataclass(frozen=True, slots=True)
class OperatorAction:
    """What a person did."""

    at: Moment
    person: str
    act: Act


@dataclass(frozen=True, slots=True)
class ShowClock:
    """Somebody, or a trigger, moves the show clock; ``cue_id`` names where a jump goes.

    ``seen_revision`` is the place that a hand saw. A trigger sees none and has an id instead, under which a repeat does
    nothing.
    """

    at: Moment
    by: str
    step: ShowStep
    cue_id: str | None = None
    seen_revision: int | None = None
    trigger_id: str = ""


@dataclass(frozen=True, slots=True)
class DocumentChanged:
    """A document took effect: the production, or the set of rules. ``revision`` is the document's."""

    at: Moment
    document: Production | tuple[Rule, ...]
    revision: int


@dataclass(frozen=True, slots=True)
class DevicesWatched:
    """The list of devices took effect: which are watched, and those of the list that are switched off.

    ``replayed`` are recordings that play back. ``revision`` is the list's, 0 while nobody has written one.
    """

    at: Moment
    device_ids: frozenset[str]
    switched_off: frozenset[str]
    replayed: frozenset[str]
    revision: int
    by: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A tenth of a second has passed: deadlines take effect, ages are taken and rules evaluated."""

    at: Moment


@dataclass(frozen=True, slots=True)
class Restored:
    """What the journal remembers, given once before anything else after a start.

    ``behind`` names the gateways that presented devices with alarms before, by device: what was behind a gateway that
    is watched may come back.

    ``commands`` are those that weren't terminal, whose sending having been journalled makes them unknown, while the
    others expire; and the terminal ones of the last ten minutes, whose ids count. ``alarms`` are the ones not normal;
    ``device_ids`` are the devices that are watched, where that is known: alarms of others end. ``moves`` are the last
    moves of the show clock, oldest first, and ``zones`` the last changes of who writes in a zone.
    """

    at: Moment
    commands: tuple[Command, ...]
    alarms: tuple[Alarm, ...]
    device_ids: frozenset[str] | None = None
    moves: tuple[ShowMoved, ...] = ()
    behind: Mapping[str, str] = field(default_factory=dict, kw_only=True)
    zones: tuple[ZoneWriterChanged, ...] = ()


ByPeople = OperatorAction | ShowClock | ScreensChanged
PipelineInput = Observation | Contact | ByPeople | DocumentChanged | Tick | DevicesWatched | Restored
