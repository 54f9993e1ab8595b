"""Slash paths that name every thing: ``quay-1``, ``quay-1/carrier/1/branch/a``, ``pack/4f2a``."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.ids import PACK, is_id

_DEVICE_PARTS = 1
_THING_PARTS = 3
_BRANCH_PARTS = 5


class Place(StrEnum):
    """The kinds of thing that carry settings and readings; the live tables are named by them."""

    DEVICE = "device"
    CARRIER = "carrier"
    BRANCH = "branch"
    CHANNEL = "channel"
    PACK = "pack"
    OUTPUT = "output"
    INPUT = "input"
    BAY = "bay"


_PARTS_OF_A_DEVICE = frozenset({Place.CARRIER, Place.CHANNEL, Place.OUTPUT, Place.INPUT, Place.BAY})


@dataclass(frozen=True, slots=True)
class Address:
    """An address taken apart.

    ``device_id`` is empty for a pack, which has an identity of its own. ``name`` is the last part.
    """

    text: str
    place: Place
    device_id: str
    name: str


def parse_address(text: str) -> Address:
    """Take an address apart.

    Raises ValueError, saying what is wrong with it.
    """
    parts = text.split("/")
    if not all(is_id(part) for part in parts):
        raise ValueError(f"{text!r}: each part is 1 to 64 of a-z 0-9 . _ -")
    if parts[0] == PACK:
        if len(parts) == _DEVICE_PARTS + 1:
            return Address(text, Place.PACK, "", parts[1])
        raise ValueError(f"{text!r}: a pack's address is pack/ID")
    if len(parts) == _DEVICE_PARTS:
        return Address(text, Place.DEVICE, parts[0], parts[0])
    if len(parts) == _THING_PARTS and parts[1] in _PARTS_OF_A_DEVICE:
        return Address(text, Place(parts[1]), parts[0], parts[2])
    if len(parts) == _BRANCH_PARTS and (parts[1], parts[3]) == (Place.CARRIER, Place.BRANCH):
        return Address(text, Place.BRANCH, parts[0], parts[4])
    raise ValueError(f"{text!r}: not the address of a device, carrier, branch, channel, output, input, bay or pack")


def carrier_address(device_id: str, name: str | int) -> str:
    """The address of a carrier."""
    return f"{device_id}/carrier/{name}"


def branch_address(carrier: str, label: str) -> str:
    """The address of one antenna input of a carrier."""
    return f"{carrier}/branch/{label}"


def channel_address(device_id: str, name: str | int) -> str:
    """The address of an audio channel."""
    return f"{device_id}/channel/{name}"


def output_address(device_id: str, name: str | int) -> str:
    """The address of an audio output."""
    return f"{device_id}/output/{name}"


def input_address(device_id: str, name: str | int) -> str:
    """The address of an antenna socket of a distribution."""
    return f"{device_id}/input/{name}"


def bay_address(device_id: str, name: str | int) -> str:
    """The address of a bay of a charger."""
    return f"{device_id}/bay/{name}"


def pack_address(pack_id: str) -> str:
    """The address of a pack."""
    return f"pack/{pack_id}"
