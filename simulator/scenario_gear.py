"""The tables of a scenario that stand for devices other than receivers, and for settings that any device may have."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from simulator.scenario_values import (
    FieldName,
    Firmware,
    Label,
    Milliwatts,
    Name,
    Positive,
    SampleRate,
    Scalar,
    Share,
)

ActName = Literal["identify", "link", "make_key", "set_key", "erase_key", "tone", "scan", "restart"]
Medium = Literal["air", "cable", "infrared", "hand"]
SettingPlace = Literal["device", "carrier", "branch", "channel", "output", "input", "pack"]


class When(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a setting hangs on: another one of the same thing, or of the device, that has one of these values."""

    field: FieldName
    values: Annotated[tuple[Scalar, ...], Meta(min_length=1, max_length=64)]
    of_device: bool = False


class OwnSetting(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A setting that a device has beside those of its kind, in the catalogue or not.

    It stands at every thing of that place, or at those that ``only`` names by the last part of their address. Several
    may stand for one field: the first whose ``when`` holds is in force, and the first of all gives the value.
    """

    place: SettingPlace
    field: FieldName
    value: Scalar
    type: Literal["integer", "number", "boolean", "string"]
    words: str = ""
    minimum: float | None = None
    maximum: float | None = None
    multiple_of: float | None = None
    choices: tuple[Scalar, ...] = ()
    unit: str = ""
    only: tuple[Label, ...] = ()
    when: Annotated[tuple[When, ...], Meta(max_length=8)] = ()
    writable: bool = True
    mutes: bool = False
    guarded: bool = False
    needs_hand: bool = False


class Gear(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What any device may have."""

    id: Name
    form: Name
    name: str = ""
    rack: str = ""
    firmware: Firmware = "1.0.0"
    read_only: bool = False
    leases: bool = False
    acts: tuple[ActName, ...] = ()
    extra: Annotated[tuple[OwnSetting, ...], Meta(max_length=64)] = ()


class Distribution(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """An antenna distribution: which antenna is at each of its inputs. It powers them through their feeds."""

    inputs: Annotated[dict[Label, Name], Meta(min_length=1, max_length=16)]


class Bay(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A bay of a charger and what sits in it; without a ``pack`` it is empty.

    ``health`` is the capacity left of what the cells had when new; cells at more than 45 degrees aren't charged.
    """

    pack: Annotated[str, Meta(pattern="^[a-z0-9._-]{0,64}$")] = ""
    charge: Share = 0.5
    health: Share = 1.0
    cycles: Annotated[int, Meta(ge=0, le=10_000)] = 0
    temperature_c: Annotated[float, Meta(ge=-20, le=90)] = 24.0
    damaged: bool = False


class Charger(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A charger: its bays in order, and how long a full charge takes."""

    bays: Annotated[tuple[Bay, ...], Meta(min_length=1, max_length=64)]
    full_minutes: Positive = 180.0


class AccessPoint(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The return link to packs that other devices hear: its antenna, its reach and its delay."""

    antenna: Name
    range_m: Positive = 60.0
    delay_ms: Annotated[float, Meta(ge=0, le=2000)] = 80.0


class Scanner(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A scanner: its antenna."""

    antenna: Name


class InEar(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """An in-ear transmitter: its antenna, its carrier, and the channels of audio that it sends."""

    antenna: Name
    frequency_hz: Annotated[int, Meta(gt=0)]
    channels: Annotated[tuple[Name, ...], Meta(min_length=1, max_length=8)]
    power_steps_mw: Annotated[tuple[Milliwatts, ...], Meta(min_length=1, max_length=16)] = (2.0, 10.0, 25.0)
    sample_rate_hz: SampleRate = 48_000


class OwnReading(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A reading that no catalogue knows: about ``value``, spread by luck."""

    field: FieldName
    value: float
    spread: Annotated[float, Meta(ge=0)] = 0.0


class Thing(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A device of a kind that nobody has heard of, with settings and readings of its own."""

    kind: Name
    reading: Annotated[tuple[OwnReading, ...], Meta(max_length=32)] = ()


class Gateway(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One address behind which other devices of the scenario stand."""

    id: Name
    devices: Annotated[tuple[Name, ...], Meta(min_length=1, max_length=64)]
