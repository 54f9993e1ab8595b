"""The list of devices that a console watches: a document that people edit while it runs, and what stands beside it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

DEVICES = "devices"
"""The kind of the document, and the name under which events tell of it."""


class Expects(StrEnum):
    """What a device of the list must say of itself."""

    EITHER = "either"
    REAL = "real"
    SIMULATED = "simulated"


@dataclass(frozen=True, slots=True)
class ListedDevice:
    """One device of the list.

    ``url`` is where it listens; ``label`` is what people call it. A device that says otherwise of itself than
    ``expects`` is refused. ``token`` is the name of its bearer token, never the token. One that isn't
    ``enabled`` stays in the list and isn't called.
    """

    device_id: str
    url: str
    label: str = ""
    expects: Expects = Expects.EITHER
    token: str = ""
    enabled: bool = True


@dataclass(frozen=True, slots=True)
class DeviceList:
    """The document. An entry stands before a device of the same id that was given at start-up."""

    devices: tuple[ListedDevice, ...] = ()


@dataclass(frozen=True, slots=True)
class ListEdit:
    """Who changes the list, and the revision they saw; 0 is that of a list that nobody has written yet."""

    person: str
    seen_revision: int


@dataclass(frozen=True, slots=True)
class ListRevision:
    """One revision of the list: who wrote it, when, and how many devices it holds."""

    revision: int
    by: str
    at_utc_us: int | None
    devices: int


class Given(StrEnum):
    """Where a device of the list comes from."""

    START_UP = "start-up"
    LIST = "list"
    LIST_BEFORE_START_UP = "list before start-up"


@dataclass(frozen=True, slots=True)
class DeviceEntry:
    """A device that the console knows of by its list, and where it was given.

    ``replay`` marks a recording that plays back in its place. What was given at start-up can't be changed; an entry of
    the list that stands before it can, and when that is removed the one of start-up is back.
    """

    device_id: str
    url: str
    label: str
    expects: Expects
    token: str
    enabled: bool
    given: Given
    replay: bool


@dataclass(frozen=True, slots=True)
class LookedDevice:
    """What a device says of itself to somebody who looks before adding it.

    ``listed_at`` is where the list has a device of that id already; empty when it has none.
    """

    device_id: str
    kind: str
    form: str
    simulated: bool
    read_only: bool
    channels: int | None
    listed_at: str = ""


@dataclass(frozen=True, slots=True)
class Looked:
    """What came of looking at an address. ``reason`` says in words why nothing was learnt, where that is so."""

    url: str
    reached: bool
    reason: str
    version: str
    devices: tuple[LookedDevice, ...]


class Standing(StrEnum):
    """How a device that announces itself stands to the list."""

    NEW = "new"
    LISTED = "listed"
    MOVED = "moved"
    ELSEWHERE = "elsewhere"
    OUT_OF_REACH = "out of reach"


@dataclass(frozen=True, slots=True)
class Announced:
    """What was heard by DNS-SD under one name: what others claim, text and nothing more. Nobody checked it.

    ``urls`` are where it is said to listen. ``device_id`` is empty where none, or none that can be one, was told, and
    ``simulated`` None where nothing was said of it.
    """

    name: str
    device_id: str
    kind: str
    simulated: bool | None
    urls: tuple[str, ...]
    first_seen_utc_us: int
    last_seen_utc_us: int


@dataclass(frozen=True, slots=True)
class Discovered:
    """An announcement, how it stands to the list, and why.

    ``url`` is the first place it names that may be called, empty when none may be.
    """

    announced: Announced
    url: str
    standing: Standing
    reason: str


@dataclass(frozen=True, slots=True)
class Discovery:
    """All that announces itself now. ``left_out`` counts what there was no room for.

    Where discovery is off, or can't be had, ``reason`` says why.
    """

    on: bool
    reason: str
    left_out: int
    devices: tuple[Discovered, ...]
