"""Faults of the simulated world: feeds, supplies, keys, clocks, cells, leads, strangers. Each can be taken back."""

from __future__ import annotations

from math import radians

import msgspec

from fleet.errors import InvalidRequest, NotFound
from fleet.physics.decibels import mw_from_dbm
from fleet.physics.discharge import CHEMISTRIES
from simulator.bodies import Carried
from simulator.device import FOREVER_US, SimulatedDevice
from simulator.fault_shapes import (
    Act,
    Answer,
    AntennaName,
    Carry,
    ClockLeader,
    Device,
    FeedFault,
    Loudness,
    Move,
    NewCells,
    Newcomer,
    PackAddress,
    Rack,
    StrangerName,
    Supply,
    TwoPacks,
    WetCapsule,
)
from simulator.feeds import Feed
from simulator.loads import STRANGERS_MAXIMUM
from simulator.microphones import Wet
from simulator.named import must_be_inside
from simulator.scenario import Antenna, Stranger
from simulator.virtual_fleet import VirtualFleet
from simulator.world import BLOCK_S


def break_feed(fleet: VirtualFleet, asked: FeedFault, now_us: int) -> Answer:
    """Break the feed of an antenna: open, shorted, or without power."""
    del now_us
    _feed(fleet, asked.antenna).fault = asked.fault
    fleet.world.touch()
    return {}


def mend_feed(fleet: VirtualFleet, asked: AntennaName, now_us: int) -> Answer:
    """Mend the feed of an antenna."""
    del now_us
    _feed(fleet, asked.antenna).fault = ""
    fleet.world.touch()
    return {}


def _feed(fleet: VirtualFleet, antenna: str) -> Feed:
    found = fleet.world.feeds.by_antenna.get(antenna)
    if found is None:
        raise NotFound("antenna", antenna)
    return found


def cut_supply(fleet: VirtualFleet, asked: Supply, now_us: int) -> Answer:
    """The supply of a device fails; what goes through it goes with it, and the device too unless it still reports."""
    del now_us
    device = fleet.device(asked.device_id)
    device.vitals.supply_ok = False
    if not asked.reports:
        device.silent_until_us = FOREVER_US
    fleet.world.feeds.set_distribution(asked.device_id, works=False)
    fleet.world.touch()
    return {}


def restore_supply(fleet: VirtualFleet, asked: Device, now_us: int) -> Answer:
    """The supply of a device works again; a device that was off starts anew."""
    device = fleet.device(asked.device_id)
    device.vitals.supply_ok = True
    fleet.world.feeds.set_distribution(asked.device_id, works=True)
    fleet.world.touch()
    if device.is_silent(now_us):
        device.silent_until_us = now_us
        device.reboot(now_us)
    return {}


def change_source(fleet: VirtualFleet, asked: Loudness, now_us: int) -> Answer:
    """Make the source of a pack louder or softer; 0 takes it back."""
    del now_us
    fleet.world.microphones.source_db[fleet.seat_of_pack(asked.pack)] = asked.gain_db
    return {}


def break_lead(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """The microphone's lead breaks: silence and crackles in turn while its wearer moves."""
    del now_us
    fleet.world.microphones.break_lead(fleet.seat_of_pack(asked.pack))
    return {}


def mend_lead(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """The microphone has another lead."""
    del now_us
    fleet.world.microphones.mend_lead(fleet.seat_of_pack(asked.pack))
    return {}


def wet_capsule(fleet: VirtualFleet, asked: WetCapsule, now_us: int) -> Answer:
    """Sweat gets into a capsule: the sound of it sinks, bit by bit."""
    del now_us
    world = fleet.world
    wet = Wet(asked.loss_db, world.blocks_done, max(1, round(asked.minutes * 60.0 / BLOCK_S)))
    world.microphones.wet(fleet.seat_of_pack(asked.pack), wet)
    return {}


def dry_capsule(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """The capsule is dry, or another one."""
    del now_us
    fleet.world.microphones.wet(fleet.seat_of_pack(asked.pack), None)
    return {}


def swap_packs(fleet: VirtualFleet, asked: TwoPacks, now_us: int) -> Answer:
    """Two wearers change packs, and so bodies, ways and voices; once more, and all is as it was."""
    del now_us
    seat, other = fleet.seat_of_pack(asked.pack), fleet.seat_of_pack(asked.other)
    if seat == other:
        raise InvalidRequest(f"{asked.pack} cannot be swapped with itself")
    fleet.world.swap_packs(seat, other)
    return {}


def change_key(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Put a key into a pack that its channel doesn't have."""
    seat = fleet.seat_of_pack(asked.pack)
    if fleet.world.seats[seat].receiver.analog:
        raise InvalidRequest(f"{asked.pack} is analog: it has no key")
    fleet.world.packs[seat].key = fleet.world.luck.word(f"wrong key of {asked.pack} at {now_us}")
    fleet.world.touch()
    return {"key_fingerprint": fleet.world.packs[seat].key}


def restore_key(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Put the key of its channel into a pack."""
    del now_us
    seat = fleet.seat_of_pack(asked.pack)
    linked = next(row.index for row in fleet.world.rows if row.seat == seat)
    fleet.world.packs[seat].key = fleet.world.fronts[linked].key
    fleet.world.touch()
    return {"key_fingerprint": fleet.world.packs[seat].key}


def lead_clock(fleet: VirtualFleet, asked: ClockLeader, now_us: int) -> Answer:
    """A device, or all of a rack, follows a clock that is off by that much."""
    if (asked.device_id is None) == (asked.rack is None):
        raise InvalidRequest("name either a device_id or a rack")
    followers = _of_rack(fleet, asked.rack) if asked.rack else [fleet.device(asked.device_id or "")]
    if not all(device.vitals.has_clock for device in followers):
        raise InvalidRequest(f"{asked.device_id} has no audio clock")
    for device in followers:
        device.vitals.follow(asked.ppm, now_us, locked=asked.locked)
    return {"devices": [device.device_id for device in followers]}


def cut_network(fleet: VirtualFleet, asked: Rack, now_us: int) -> Answer:
    """The control network of a rack fails: its devices neither answer nor report, all at the same instant."""
    del now_us
    return _silent_until(fleet, asked.rack, FOREVER_US)


def mend_network(fleet: VirtualFleet, asked: Rack, now_us: int) -> Answer:
    """The control network of a rack works again."""
    return _silent_until(fleet, asked.rack, now_us)


def _silent_until(fleet: VirtualFleet, rack: str, until_us: int) -> Answer:
    found = [fleet.device(device_id) for device_id, where in fleet.racks.items() if where == rack]
    if not found:
        raise NotFound("rack", rack)
    for device in found:
        device.silent_until_us = until_us
    return {"devices": [device.device_id for device in found]}


def _of_rack(fleet: VirtualFleet, rack: str) -> list[SimulatedDevice]:
    found = [fleet.device(device_id) for device_id, where in fleet.racks.items() if where == rack]
    if not found:
        raise NotFound("rack", rack)
    return [device for device in found if device.vitals.has_clock]


def put_cells(fleet: VirtualFleet, asked: NewCells, now_us: int) -> Answer:
    """Put cells of some type and charge into a pack, whatever type is set on it."""
    del now_us
    if asked.cells not in CHEMISTRIES:
        raise InvalidRequest(f"cells are one of {', '.join(CHEMISTRIES)}, not {asked.cells!r}")
    fleet.world.packs[fleet.seat_of_pack(asked.pack)].put_cells(asked.cells, asked.charge)
    fleet.world.touch()
    return {}


def carry_pack(fleet: VirtualFleet, asked: Carry, now_us: int) -> Answer:
    """Carry a pack to an antenna, or between two of them, straight in front."""
    del now_us
    seat = fleet.seat_of_pack(asked.pack)
    found, beside = _antenna(fleet, asked.antenna), _antenna(fleet, asked.beside or asked.antenna)
    x_m, y_m, height_m = ((one + other) / 2 for one, other in zip(found.position_m, beside.position_m, strict=True))
    fleet.world.carry(seat, Carried((x_m, y_m + asked.distance_m, height_m), asked.worn))
    return {}


def _antenna(fleet: VirtualFleet, name: str) -> Antenna:
    found = next((each for each in fleet.world.scenario.antenna if each.name == name), None)
    if found is None:
        raise NotFound("antenna", name)
    return found


def move_pack(fleet: VirtualFleet, asked: Move, now_us: int) -> Answer:
    """Let the wearer of a pack walk somewhere in the venue, and stay there."""
    del now_us
    world, seat = fleet.world, fleet.seat_of_pack(asked.pack)
    must_be_inside(fleet, asked.position_m)
    x_m, y_m, z_m = world.position_m(seat)
    leaves = world.blocks_done
    arrives = leaves + round(asked.seconds / BLOCK_S)
    world.carry(seat, Carried(asked.position_m, asked.worn, radians(asked.faces_deg), (x_m, y_m, z_m), leaves, arrives))
    return {}


def put_back(fleet: VirtualFleet, asked: PackAddress, now_us: int) -> Answer:
    """Give a pack back to its wearer."""
    del now_us
    fleet.world.carry(fleet.seat_of_pack(asked.pack), None)
    return {}


def start_stranger(fleet: VirtualFleet, asked: Stranger, now_us: int) -> Answer:
    """Somebody else's carrier comes on the air; the same name again moves it."""
    del now_us
    strangers = fleet.world.loads.strangers
    if asked.name not in strangers and len(strangers) >= STRANGERS_MAXIMUM:
        raise InvalidRequest(f"at most {STRANGERS_MAXIMUM} strangers")
    strangers[asked.name] = asked
    fleet.world.touch()
    return {}


def bring_stranger(fleet: VirtualFleet, asked: Newcomer, now_us: int) -> Answer:
    """Somebody else's carrier comes on the air so strongly that it brings that level to an antenna."""
    found = _antenna(fleet, asked.antenna)
    x_m, y_m, height_m = found.position_m
    place = (x_m, y_m - asked.distance_m, height_m)
    one = Stranger(asked.name, asked.frequency_hz, place, 1.0, asked.bandwidth_hz)
    number = fleet.world.scenario.antenna.index(found)
    erp_mw = mw_from_dbm(asked.level_dbm) / fleet.world.loads.stranger_mw(number, one)
    return start_stranger(fleet, msgspec.structs.replace(one, erp_mw=float(erp_mw)), now_us)


def stop_stranger(fleet: VirtualFleet, asked: StrangerName, now_us: int) -> Answer:
    """Somebody else's carrier goes off the air."""
    del now_us
    if fleet.world.loads.strangers.pop(asked.name, None) is None:
        raise NotFound("stranger", asked.name)
    fleet.world.touch()
    return {}


WORLD_ACTS: dict[str, tuple[type[msgspec.Struct], Act]] = {
    "break_feed": (FeedFault, break_feed),
    "mend_feed": (AntennaName, mend_feed),
    "cut_supply": (Supply, cut_supply),
    "restore_supply": (Device, restore_supply),
    "change_source": (Loudness, change_source),
    "wet_capsule": (WetCapsule, wet_capsule),
    "dry_capsule": (PackAddress, dry_capsule),
    "swap_packs": (TwoPacks, swap_packs),
    "break_lead": (PackAddress, break_lead),
    "mend_lead": (PackAddress, mend_lead),
    "change_key": (PackAddress, change_key),
    "restore_key": (PackAddress, restore_key),
    "lead_clock": (ClockLeader, lead_clock),
    "put_cells": (NewCells, put_cells),
    "carry_pack": (Carry, carry_pack),
    "move_pack": (Move, move_pack),
    "put_back": (PackAddress, put_back),
    "cut_network": (Rack, cut_network),
    "mend_network": (Rack, mend_network),
    "start_stranger": (Stranger, start_stranger),
    "bring_stranger": (Newcomer, bring_stranger),
    "stop_stranger": (StrangerName, stop_stranger),
}
