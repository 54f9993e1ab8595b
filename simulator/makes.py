"""What each table of a scenario is made of: the one place that knows every kind of device."""

from __future__ import annotations

from simulator.charger import ChargerGear
from simulator.device import Make
from simulator.distribution import DistributionGear
from simulator.gear import Gear
from simulator.in_ear import InEarGear
from simulator.pack_control import PackControl
from simulator.plain_gear import PlainGear
from simulator.receiver import ReceiverGear
from simulator.scenario import Receiver
from simulator.scenario_gear import AccessPoint, Charger, Distribution, InEar, Scanner, Thing
from simulator.scenario_gear import Gear as GearSpec
from simulator.thing import ThingGear
from simulator.vitals import Vitals
from simulator.world import World


def make_of(world: World, spec: GearSpec) -> Make:
    """What that device is made of."""
    rows = tuple(row for row in world.rows if row.device_id == spec.id)
    packs = PackControl(world, [seat for seat in world.seats if seat.controller == spec.id])
    rate_hz = spec.sample_rate_hz if isinstance(spec, Receiver | InEar) else 0
    vitals = Vitals(spec.id, spec.firmware, rate_hz, world.luck)
    scans = spec.antenna if isinstance(spec, Scanner) else ""
    return Make(spec, _gear(world, spec), packs, vitals, rows, scans)


def _gear(world: World, spec: GearSpec) -> Gear:
    match spec:
        case Receiver():
            return ReceiverGear(world, [row for row in world.rows if row.device_id == spec.id])
        case Distribution():
            return DistributionGear(world, spec)
        case Charger():
            return ChargerGear(world, spec)
        case AccessPoint():
            return PlainGear(spec, "access point")
        case Scanner():
            return PlainGear(spec, "scanner")
        case InEar():
            return InEarGear(world, spec)
        case Thing():
            return ThingGear(world, spec)
        case _:
            raise TypeError(f"no gear is made of {type(spec).__name__}")
