"""Whether what an act names is there at all, before anything is done."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from fleet.errors import InvalidRequest, NotFound
from simulator.fault_shapes import Move
from simulator.scenario_values import Point3
from simulator.virtual_fleet import VirtualFleet


def must_be_there(fleet: VirtualFleet, asked: msgspec.Struct) -> None:
    """Raise NotFound for the first pack, antenna, device, rack or address of these parameters that isn't there."""
    for key, look in _LOOKS.items():
        name = getattr(asked, key, None)
        if isinstance(name, str):
            look(fleet, name)
    if isinstance(asked, Move):
        must_be_inside(fleet, asked.position_m)


def must_be_inside(fleet: VirtualFleet, place_m: Point3) -> None:
    """Raise InvalidRequest for a place outside the venue."""
    low, high = fleet.world.scenario.venue.minimum_m, fleet.world.scenario.venue.maximum_m
    if not (low[0] <= place_m[0] <= high[0] and low[1] <= place_m[1] <= high[1]):
        raise InvalidRequest(f"{place_m} is outside the venue, which goes from {low} to {high}")


def _antenna(fleet: VirtualFleet, name: str) -> None:
    if name not in fleet.world.feeds.by_antenna:
        raise NotFound("antenna", name)


def _rack(fleet: VirtualFleet, name: str) -> None:
    if name not in fleet.racks.values():
        raise NotFound("rack", name)


_LOOKS: dict[str, Callable[[VirtualFleet, str], object]] = {
    "pack": lambda fleet, address: fleet.seat_of_pack(address),
    "other": lambda fleet, address: fleet.seat_of_pack(address),
    "address": lambda fleet, address: fleet.device_of(address),
    "device_id": lambda fleet, device_id: fleet.device(device_id),
    "antenna": _antenna,
    "beside": _antenna,
    "rack": _rack,
}
