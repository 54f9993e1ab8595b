"""All receivers of one world."""

from __future__ import annotations

from fleet.errors import NotFound
from simulator.receiver import SimulatedReceiver
from simulator.scenario import Scenario
from simulator.world import World


class VirtualFleet:
    """A world and its receivers, by device id, in the order of the scenario."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.world = World(scenario, seed)
        self.receivers = {spec.id: SimulatedReceiver(self.world, spec.id) for spec in scenario.receiver}

    def advance(self, now_us: int) -> None:
        """Let time pass for everything."""
        for receiver in self.receivers.values():
            receiver.advance(now_us)

    def receiver(self, device_id: str) -> SimulatedReceiver:
        """The receiver of that id.

        Raises NotFound.
        """
        found = self.receivers.get(device_id)
        if found is None:
            raise NotFound("receiver", device_id)
        return found

    def receiver_of(self, address: str) -> SimulatedReceiver:
        """The receiver that an address belongs to, or that controls the pack of that address.

        Raises NotFound.
        """
        found = (receiver for receiver in self.receivers.values() if address in receiver.addresses())
        for receiver in found:
            return receiver
        raise NotFound("address", address)

    def row_of_pack(self, address: str) -> int:
        """The row of the pack at that address.

        Raises NotFound.
        """
        for row in self.world.rows:
            if row.pack == address:
                return row.index
        raise NotFound("pack", address)
