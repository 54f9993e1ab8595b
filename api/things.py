"""The kinds of thing that have settings and acts, and how each is addressed in a path."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from api.declared import NamePath
from fleet.model.address import (
    bay_address,
    branch_address,
    carrier_address,
    channel_address,
    input_address,
    output_address,
    pack_address,
)


async def _device(device_id: NamePath) -> str:
    return device_id


async def _carrier(device_id: NamePath, carrier: NamePath) -> str:
    return carrier_address(device_id, carrier)


async def _branch(device_id: NamePath, carrier: NamePath, branch: NamePath) -> str:
    return branch_address(carrier_address(device_id, carrier), branch)


async def _channel(device_id: NamePath, channel: NamePath) -> str:
    return channel_address(device_id, channel)


async def _output(device_id: NamePath, output: NamePath) -> str:
    return output_address(device_id, output)


async def _input(device_id: NamePath, socket: NamePath) -> str:
    return input_address(device_id, socket)


async def _bay(device_id: NamePath, bay: NamePath) -> str:
    return bay_address(device_id, bay)


async def _pack(pack: NamePath) -> str:
    return pack_address(pack)


@dataclass(frozen=True, slots=True)
class ThingPath:
    """A kind of thing: its path below ``/api/v1``, what makes an address of the path's names, and its words."""

    path: str
    address: Callable[..., Awaitable[str]]
    words: str


THINGS = (
    ThingPath("/devices/{device_id}", _device, "a device"),
    ThingPath("/devices/{device_id}/carriers/{carrier}", _carrier, "a carrier"),
    ThingPath("/devices/{device_id}/carriers/{carrier}/branches/{branch}", _branch, "a branch of a carrier"),
    ThingPath("/devices/{device_id}/channels/{channel}", _channel, "a channel"),
    ThingPath("/devices/{device_id}/outputs/{output}", _output, "an output"),
    ThingPath("/devices/{device_id}/inputs/{socket}", _input, "an antenna socket of a distribution"),
    ThingPath("/devices/{device_id}/bays/{bay}", _bay, "a bay of a charger"),
    ThingPath("/packs/{pack}", _pack, "a pack"),
)
