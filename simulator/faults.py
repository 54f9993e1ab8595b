"""Faults on cue, and the world's truth: what the exercise protocol can ask for."""

from __future__ import annotations

import msgspec

from fleet.errors import InvalidRequest
from fleet.model.address import Place, parse_address
from fleet.model.fields import Value
from fleet.physics.decibels import dbm_from_mw
from simulator.device import FOREVER_US, SimulatedDevice
from simulator.endpoint import Endpoint
from simulator.fault_shapes import Act, Answer, Device, Nothing, PackAddress, Silence, Truth, Turn
from simulator.hand_faults import HAND_ACTS
from simulator.virtual_fleet import VirtualFleet
from simulator.world import World
from simulator.world_faults import WORLD_ACTS


def silence(fleet: VirtualFleet, asked: Silence, now_us: int) -> Answer:
    """Make a receiver neither answer nor report, its sockets staying open."""
    until_us = FOREVER_US if asked.seconds is None else now_us + round(asked.seconds * 1_000_000)
    _silenced(fleet, asked.device_id).silent_until_us = until_us
    return {}


def _silenced(fleet: VirtualFleet, device_id: str) -> SimulatedDevice | Endpoint:
    """The device of that id, or the gateway."""
    return fleet.devices.get(device_id) or fleet.endpoint(device_id)


def speak(fleet: VirtualFleet, asked: Device, now_us: int) -> Answer:
    """End a silence."""
    _silenced(fleet, asked.device_id).silent_until_us = now_us
    return {}


def reboot(fleet: VirtualFleet, asked: Device, now_us: int) -> Answer:
    """Restart a receiver."""
    device = fleet.device(asked.device_id)
    device.reboot(now_us)
    return {"boot_id": device.boot_id}


def hold_return_link(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Keep requests to a pack and its replies waiting until the link is restored."""
    del now_us
    fleet.world.links[fleet.seat_of_pack(asked.pack)].held = True
    return {}


def drop_return_link(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Lose requests to a pack until the link is restored."""
    del now_us
    fleet.world.links[fleet.seat_of_pack(asked.pack)].dropped = True
    return {}


def restore_return_link(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Let a return link work again; what was held is delivered."""
    del now_us
    link = fleet.world.links[fleet.seat_of_pack(asked.pack)]
    link.held = link.dropped = False
    return {}


def turn_panel(fleet: VirtualFleet, asked: Turn, now_us: int) -> Answer:
    """Set a receiver at its front, or a pack in the hand."""
    del now_us
    changes: dict[str, Value] = asked.changes
    fleet.device_of(asked.address).turn_panel(asked.address, changes)
    return {}


def kill_cells(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Empty a pack's cells at once."""
    del now_us
    fleet.world.packs[fleet.seat_of_pack(asked.pack)].kill_cells()
    fleet.world.touch()
    return {}


def time(fleet: VirtualFleet, asked: Nothing, now_us: int) -> Answer:
    """The world's time, and the blocks of a tenth of a second it has lived through."""
    del asked
    return {"world_time_us": now_us, "blocks": fleet.world.blocks_done, "seed": fleet.world.seed}


def truth(fleet: VirtualFleet, asked: Truth, now_us: int) -> Answer:
    """What is so, whatever the receivers know of it: of one pack, or of all, or of a receiver's own settings."""
    if asked.address is None:
        return {seat.address: _truth_of_pack(fleet.world, seat.index) for seat in fleet.world.seats}
    if _is_pack(asked.address):
        return _truth_of_pack(fleet.world, fleet.seat_of_pack(asked.address))
    device = fleet.device_of(asked.address)
    settings = device.known_settings(asked.address) if asked.address in device.addresses() else {}
    return {"settings": settings, "silent": device.is_silent(now_us), "boot_id": device.boot_id}


def _is_pack(address: str) -> bool:
    try:
        return parse_address(address).place is Place.PACK
    except ValueError as error:
        raise InvalidRequest(str(error)) from error


def _truth_of_pack(world: World, seat: int) -> Answer:
    pack, link = world.packs[seat], world.links[seat]
    answer: Answer = {
        "settings": dict(pack.settings),
        "radiating": pack.radiating,
        "cells_remaining_fraction": pack.cells.remaining,
        "position_m": world.position_m(seat),
        "return_link": "held" if link.held else "dropped" if link.dropped else "up" if link.in_range else "too far",
    }
    if world.blocks:
        radio = world.blocks[-1].radio
        answer["carrier_level_dbm"] = dbm_from_mw(radio.mean_mw[world.seats[seat].rows[0]]).tolist()
    return answer


ACTS: dict[str, tuple[type[msgspec.Struct], Act]] = {
    "silence": (Silence, silence),
    "speak": (Device, speak),
    "reboot": (Device, reboot),
    "hold_return_link": (PackAddress, hold_return_link),
    "drop_return_link": (PackAddress, drop_return_link),
    "restore_return_link": (PackAddress, restore_return_link),
    "turn_panel": (Turn, turn_panel),
    "kill_cells": (PackAddress, kill_cells),
    **WORLD_ACTS,
    **HAND_ACTS,
    "time": (Nothing, time),
    "truth": (Truth, truth),
}
