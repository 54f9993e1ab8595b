"""All devices of one world."""

from __future__ import annotations

from fleet.errors import NotFound
from simulator.device import SimulatedDevice
from simulator.pack_control import PackControl
from simulator.receiver import ReceiverGear
from simulator.scenario import Scenario
from simulator.world import World


class VirtualFleet:
    """A world and its devices, by device id, in the order of the scenario."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.world = World(scenario, seed)
        self.devices = {spec.id: self._receiver(spec.id) for spec in scenario.receiver}

    def _receiver(self, device_id: str) -> SimulatedDevice:
        rows = [row for row in self.world.rows if row.device_id == device_id]
        return SimulatedDevice(self.world, ReceiverGear(self.world, rows), self._packs_of(device_id))

    def _packs_of(self, device_id: str) -> PackControl:
        return PackControl(self.world, [seat for seat in self.world.seats if seat.controller == device_id])

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
