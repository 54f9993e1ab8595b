"""The settings of one thing: what the device reported, and what somebody asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from fleet.model.address import Place, parse_address
from fleet.model.fields import Value
from fleet.model.quality import Quality

_OF_THE_DEVICE = frozenset({Place.OUTPUT, Place.INPUT, Place.BAY})


def counter_of(address: str) -> str:
    """The address whose counter of revisions an address shares.

    A device counts for its outputs, inputs and bays too, a carrier for its branches; a channel and a pack count for
    themselves. Raises ValueError when the address is none.
    """
    parsed = parse_address(address)
    if parsed.place in _OF_THE_DEVICE:
        return parsed.device_id
    if parsed.place is Place.BRANCH:
        return address.partition("/branch/")[0]
    return address


class Cause(StrEnum):
    """Why a setting changed, as the device says it."""

    PANEL = "panel"
    COMMAND = "command"
    PACK = "pack"
    OTHER_CLIENT = "other client"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Desired:
    """A value that a command asked for; it dies with its command."""

    field: str
    value: Value
    command_id: str


@dataclass(frozen=True, slots=True)
class SettingsView:
    """The settings of one address.

    ``revision`` is ``boot.number`` of the counter that the address shares, and serves as the ETag.
    ``controlled_through`` is the device that holds them. ``in_force`` gives, for each setting that is there as things
    are, the place of its capability in that device's description.
    """

    address: str
    revision: str
    controlled_through: str
    quality: Quality
    reported: Mapping[str, Value]
    desired: tuple[Desired, ...] = ()
    in_force: Mapping[str, int] = field(default_factory=dict)
