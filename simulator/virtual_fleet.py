"""All devices of one world."""

from __future__ import annotations

from fleet.errors import NotFound
from simulator.device import SimulatedDevice
from simulator.distribution import DistributionGear
from simulator.gear import Gear
from simulator.pack_control import PackControl
from simulator.receiver import ReceiverGear
from simulator.scenario import Distribution, Receiver, Scenario
from simulator.vitals import Vitals
from simulator.world import World


class VirtualFleet:
    """A world and its devices, by device id, in the order of the scenario."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.world = World(scenario, seed)
        racked: list[Receiver | Distribution] = [*scenario.receiver, *scenario.distribution]
        self.racks = {spec.id: spec.rack for spec in racked}
        self.devices = {spec.id: self._receiver(spec) for spec in scenario.receiver}
        self.devices |= {spec.id: self._distribution(spec) for spec in scenario.distribution}

    def _receiver(self, spec: Receiver) -> SimulatedDevice:
        gear = ReceiverGear(self.world, [row for row in self.world.rows if row.device_id == spec.id])
        return self._device(gear, Vitals(spec.id, spec.firmware, spec.sample_rate_hz, self.world.luck))

    def _distribution(self, spec: Distribution) -> SimulatedDevice:
        return self._device(DistributionGear(self.world, spec), Vitals(spec.id, spec.firmware, 0, self.world.luck))

    def _device(self, gear: Gear, vitals: Vitals) -> SimulatedDevice:
        device_id = gear.describe().device_id
        packs = PackControl(self.world, [seat for seat in self.world.seats if seat.controller == device_id])
        return SimulatedDevice(self.world, gear, packs, vitals)

    def advance(self, now_us: int) -> None:
        """Let time pass for everything."""
        for device in self.devices.values():
            device.advance(now_us)

    def device(self, device_id: str) -> SimulatedDevice:
        """The device of that id.

        Raises NotFound.
        """
        found = self.devices.get(device_id)
        if found is None:
            raise NotFound("device", device_id)
        return found

    def device_of(self, address: str) -> SimulatedDevice:
        """The device that an address belongs to, or that controls the pack of that address.

        Raises NotFound.
        """
        found = (device for device in self.devices.values() if address in device.addresses())
        for device in found:
            return device
        raise NotFound("address", address)

    def seat_of_pack(self, address: str) -> int:
        """The place in the world's columns of the pack at that address.

        Raises NotFound.
        """
        for seat in self.world.seats:
            if seat.address == address:
                return seat.index
        raise NotFound("pack", address)
