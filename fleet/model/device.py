"""Devices as they describe themselves, and the console's contact with them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.capability import ActCapability, Capability


@dataclass(frozen=True, slots=True)
class CarrierDescription:
    """A tuned radio signal: its address, its antenna inputs and the channels it bears, all as addresses."""

    address: str
    branches: tuple[str, ...]
    channels: tuple[str, ...]
    analog: bool = False


@dataclass(frozen=True, slots=True)
class ChannelDescription:
    """An audio path: the carrier that feeds it and the pack linked to it, where one is."""

    address: str
    carrier: str
    pack: str | None = None


@dataclass(frozen=True, slots=True)
class OutputDescription:
    """An output: its address, and its form: analog, digital, network, headphone or whatever else it is."""

    address: str
    form: str = ""


KINDS = ("receiver", "distribution", "charger", "access point", "scanner", "in-ear transmitter")
"""The kinds of device that the screens have words for. A device may be of any other kind, and is shown all the same."""


@dataclass(frozen=True, slots=True)
class DeviceDescription:
    """All that a device says of its shape.

    ``packs`` are those controlled through it; ``inputs`` are the antenna sockets of a distribution, ``bays`` those of a
    charger; ``kind`` is one of ``KINDS`` or any other; ``form`` is free text.
    """

    device_id: str
    kind: str
    form: str
    simulated: bool
    read_only: bool
    carriers: tuple[CarrierDescription, ...] = ()
    channels: tuple[ChannelDescription, ...] = ()
    packs: tuple[str, ...] = ()
    capabilities: tuple[Capability, ...] = ()
    outputs: tuple[OutputDescription, ...] = ()
    inputs: tuple[str, ...] = ()
    bays: tuple[str, ...] = ()
    acts: tuple[ActCapability, ...] = ()


@dataclass(frozen=True, slots=True)
class Lease:
    """Who may write to a device that takes writes and acts from one client at a time.

    ``ours`` says that this console may. If not, ``holder`` is what the device calls whoever may, empty for nobody.
    """

    ours: bool
    holder: str = ""


@dataclass(frozen=True, slots=True)
class Unlocked:
    """The guarded things of a device are unlocked: by whom, why, and until when."""

    by: str
    reason: str
    until_utc_us: int


class ContactState(StrEnum):
    """The console's contact with a device."""

    CONNECTING = "connecting"
    FRESH = "fresh"
    LATE = "late"
    LOST = "lost"
    BAD = "bad"
    REMOVED = "removed"

    @property
    def in_contact(self) -> bool:
        """Whether a connection stands, be a heartbeat late or not."""
        return self in {ContactState.FRESH, ContactState.LATE}


class Origin(StrEnum):
    """Whether what a device reports comes of the real world; unknown until it was heard."""

    REAL = "real"
    SIMULATED = "simulated"
    REPLAYED = "replayed"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class ContactStatus:
    """What the console knows of its contact with a device.

    ``state`` is LATE once a heartbeat is overdue, LOST after five seconds without a fresh one, BAD when the device
    breaks the protocol or isn't the one that was called, REMOVED when it isn't watched any more. ``last_seen_utc_us``
    is the last fresh heartbeat; ``reason`` is in words. ``reached_through`` is the gateway that presents the device,
    empty for one with an address of its own.
    """

    device_id: str
    state: ContactState
    since_utc_us: int
    last_seen_utc_us: int | None = None
    reason: str = ""
    boot_id: str = ""
    attempts: int = 0
    next_attempt_utc_us: int | None = None
    reached_through: str = ""


@dataclass(frozen=True, slots=True)
class DeviceView:
    """A device as the API shows it. ``description`` is None until the device was heard once.

    ``lease`` is None for a device without leases. ``unlocked`` is None while its guarded things are locked.
    """

    device_id: str
    contact: ContactStatus
    description: DeviceDescription | None = None
    lease: Lease | None = None
    unlocked: Unlocked | None = None
    origin: Origin = Origin.UNKNOWN
