"""The shapes of what the exercise protocol is asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from simulator.scenario_gear import Bay
from simulator.virtual_fleet import VirtualFleet

SECONDS_MAXIMUM = 86_400.0
Address = Annotated[str, Meta(min_length=1, max_length=256)]
Answer = dict[str, object]
Act = Callable[[VirtualFleet, Any, int], Answer]


class Device(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a receiver."""

    device_id: Address


class Silence(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a receiver, and for how long; null is until it is told to speak."""

    device_id: Address
    seconds: Annotated[float, Meta(gt=0, le=SECONDS_MAXIMUM)] | None = None


class PackAddress(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a pack by its address."""

    pack: Address


class Turn(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Settings that somebody changes by hand."""

    address: Address
    changes: Annotated[dict[str, bool | int | float | str], Meta(min_length=1, max_length=64)]


class Truth(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names what to tell the truth of; null is every pack."""

    address: Address | None = None


class Nothing(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """No parameters."""


class Supply(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a device whose supply fails, and whether it goes on reporting."""

    device_id: Address
    reports: bool = True


class FeedFault(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names an antenna by the scenario's name, and what is wrong with its feed."""

    antenna: Address
    fault: Literal["open", "shorted", "unpowered"]


class AntennaName(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names an antenna by the scenario's name."""

    antenna: Address


class Loudness(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a pack, and how much louder its source is than usual."""

    pack: Address
    gain_db: Annotated[float, Meta(ge=-60, le=60)]


class WetCapsule(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a pack whose capsule takes in sweat, what it loses in the end, and after how many minutes it has."""

    pack: Address
    loss_db: Annotated[float, Meta(gt=0, le=60)] = 12.0
    minutes: Annotated[float, Meta(ge=0.1, le=600)] = 15.0


class TwoPacks(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names two packs by their addresses."""

    pack: Address
    other: Address


class NewCells(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a pack, the type of the cells that are put in, and their charge."""

    pack: Address
    cells: Address
    charge: Annotated[float, Meta(ge=0, le=1)] = 1.0


class Carry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a pack, the antenna it is carried to, how near, and whether somebody still wears it.

    With ``beside`` it is carried to the middle between that antenna and this one.
    """

    pack: Address
    antenna: Address
    beside: Address | None = None
    distance_m: Annotated[float, Meta(ge=0.5, le=100)] = 1.0
    worn: bool = False


class Move(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a pack, the place that its wearer walks to, how long that takes, and where the wearer looks then."""

    pack: Address
    position_m: tuple[float, float, float]
    seconds: Annotated[float, Meta(ge=0, le=3600)] = 0.0
    worn: bool = True
    faces_deg: Annotated[float, Meta(ge=-360, le=360)] = -90.0


class Newcomer(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A stranger by what it brings to one antenna, from how far away."""

    name: Address
    frequency_hz: Annotated[int, Meta(gt=0)]
    antenna: Address
    level_dbm: Annotated[float, Meta(ge=-130, le=0)]
    distance_m: Annotated[float, Meta(ge=1, le=100_000)] = 100.0
    bandwidth_hz: Annotated[int, Meta(gt=0, le=100_000_000)] = 200_000


class Rack(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a rack."""

    rack: Address


class ClockLeader(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a device or a rack, and how far its audio clock is off; 0 takes it back."""

    ppm: Annotated[float, Meta(ge=-1000, le=1000)]
    device_id: Address | None = None
    rack: Address | None = None
    locked: bool = True


class StrangerName(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a stranger."""

    name: Address


class Place(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names anything by its address."""

    address: Address


class Module(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a device, and a module of the scenario that is plugged into it."""

    device_id: Address
    module: Address


class BayContent(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a bay of a charger and what is put in; nothing takes out what is there."""

    address: Address
    content: Bay | None = None
