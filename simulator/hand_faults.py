"""What hands do: they finish what an act or a write waits for, plug modules in, fill the bays of chargers."""

from __future__ import annotations

import msgspec

from fleet.errors import InvalidRequest, NotFound
from simulator.charger import ChargerGear
from simulator.fault_shapes import Act, Answer, BayContent, Module, Place
from simulator.virtual_fleet import VirtualFleet


def hand(fleet: VirtualFleet, asked: Place, now_us: int) -> Answer:
    """Do what acts and writes at an address wait for a hand to do."""
    del now_us
    return {"done": fleet.device_of(asked.address).hand(asked.address)}


def plug_module(fleet: VirtualFleet, asked: Module, now_us: int) -> Answer:
    """Plug a module into a device, which then describes itself otherwise."""
    del now_us
    device = fleet.device(asked.device_id)
    if not device.plug(asked.module):
        raise InvalidRequest(f"{asked.device_id} has no free place for a module {asked.module!r}")
    return {"digest": device.digest}


def fill_bay(fleet: VirtualFleet, asked: BayContent, now_us: int) -> Answer:
    """Put a pack into a bay of a charger, or take it out."""
    del now_us
    for device in fleet.devices.values():
        if isinstance(device.gear, ChargerGear) and asked.address in device.gear.places:
            held = asked.content if asked.content is not None and asked.content.pack else None
            device.gear.put(asked.address, held)
            return {}
    raise NotFound("bay", asked.address)


HAND_ACTS: dict[str, tuple[type[msgspec.Struct], Act]] = {
    "hand": (Place, hand),
    "plug_module": (Module, plug_module),
    "fill_bay": (BayContent, fill_bay),
}
