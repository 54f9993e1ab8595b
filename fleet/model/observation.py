"""What comes up from a device: readings as arrays, settings as reported, answers to commands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from fleet.model.act import ActProgress
from fleet.model.device import ContactState, DeviceDescription, Lease
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.model.quality import Quality
from fleet.model.settings import Cause


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """The order of the values in a device's readings frames, agreed when it was subscribed.

    ``cells`` are pairs of address and reading name. A frame's row and column indices follow from it once, so they
    need not travel with each frame. Layouts compare by identity.
    """

    cells: tuple[tuple[str, str], ...]
    interval_ms: int


@dataclass(frozen=True, slots=True)
class ReadingFrame:
    """One frame of fast readings.

    ``values`` is float64, shaped as ``layout.cells``, NaN for absent. ``qualities`` is uint8 of ``Quality`` and of the
    same shape, or None when all that is present is good. ``coalesced`` counts the frames merged into this one.
    ``age_us`` is how old the values are at the least, by the device's clock, when the frame is handed on.
    """

    layout: Layout
    sequence: int
    device_time_us: int
    values: NDArray[np.float64]
    qualities: NDArray[np.uint8] | None = None
    coalesced: int = 1
    age_us: int = 0


@dataclass(frozen=True, slots=True)
class SettingsReport:
    """Settings of one address as the device reports them; ``complete`` when all of them, else a merge.

    ``quality`` is UNCERTAIN when the device repeats what it knew last, as a receiver does for a pack that it can't
    reach; such a report never settles an unknown command.
    """

    address: str
    revision: str
    settings: Mapping[str, Value]
    cause: Cause = Cause.UNKNOWN
    command_id: str = ""
    complete: bool = False
    quality: Quality = Quality.GOOD


class Answer(StrEnum):
    """What a device says to a command."""

    ACCEPTED = "accepted"
    WAITING_FOR_WAKE = "waiting for wake"
    WAITING_FOR_HAND = "waiting for a hand"
    DONE = "done"
    REFUSED = "refused"
    PARTLY_DONE = "partly done"
    CANCELLED = "cancelled"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class CommandAnswer:
    """A device's answer to one command.

    ``refused_fields`` gives a reason for each field that was not done; ``result`` is what an act brought about.
    """

    command_id: str
    answer: Answer
    reason: str = ""
    refused_fields: Mapping[str, str] = field(default_factory=dict)
    result: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Notice:
    """Something a device wants said: a code and words."""

    code: str
    words: str


@dataclass(frozen=True, slots=True)
class Observation:
    """Everything one message from one device says; a pipeline input.

    ``exact`` holds readings that are text or exact integers, by address and name; None is absent. ``read_back`` lists
    the addresses whose settings were read again to settle an unknown command; they come after the reports. ``lease``
    says who may write to the device now, where that was heard.
    """

    at: Moment
    device_id: str
    frame: ReadingFrame | None = None
    exact: Mapping[str, Mapping[str, Value | None]] = field(default_factory=dict)
    reports: tuple[SettingsReport, ...] = ()
    answers: tuple[CommandAnswer, ...] = ()
    notices: tuple[Notice, ...] = ()
    read_back: tuple[str, ...] = ()
    progress: tuple[ActProgress, ...] = ()
    lease: Lease | None = None


@dataclass(frozen=True, slots=True)
class Contact:
    """The console's contact with a device changed, or a fresh heartbeat came; a pipeline input.

    A heartbeat is fresh when both the device's time and the counter of its measuring loop have advanced.
    ``description`` comes with a new connection and whenever the device describes itself anew; a new ``boot_id`` or
    connection starts a new epoch: reports that follow are complete. ``reached_through`` is the gateway that
    presents the device, empty for one with an address of its own.
    """

    at: Moment
    device_id: str
    state: ContactState
    reason: str = ""
    boot_id: str = ""
    description: DeviceDescription | None = None
    attempts: int = 0
    next_attempt_utc_us: int | None = None
    reached_through: str = ""
