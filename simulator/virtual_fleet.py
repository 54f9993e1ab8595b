"""All devices of one world."""

from __future__ import annotations

from collections import deque
from typing import Protocol

from fleet.errors import NotFound
from simulator.device import SimulatedDevice
from simulator.endpoint import Endpoint
from simulator.gear_checks import gear_of
from simulator.makes import make_of
from simulator.scenario import Scenario
from simulator.world import World

PROBLEMS_KEPT = 1_000


class Timed(Protocol):
    """Something that happens in the course of time."""

    def advance(self, now_us: int) -> None:
        """Do what is due."""


class VirtualFleet:
    """A world and its devices, by device id, in the order of the scenario; ``plays`` happen in it, by their ids.

    ``problems`` are what they could not do, in words, the last thousand.
    """

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.world = World(scenario, seed)
        gear = [each for _, each in gear_of(scenario)]
        self.racks = {spec.id: spec.rack for spec in gear}
        self.devices = {spec.id: SimulatedDevice(self.world, make_of(self.world, spec)) for spec in gear}
        self.plays: dict[str, Timed] = {}
        self.problems: deque[str] = deque(maxlen=PROBLEMS_KEPT)
        self.endpoints = {each.endpoint_id: each for each in self._endpoints(scenario)}

    def _endpoints(self, scenario: Scenario) -> list[Endpoint]:
        """The addresses, in the order of the scenario: devices by themselves, then gateways."""
        behind = {device_id for gateway in scenario.gateway for device_id in gateway.devices}
        alone = [Endpoint(self.world, [device]) for name, device in self.devices.items() if name not in behind]
        gateways = [
            Endpoint(self.world, [self.devices[name] for name in gateway.devices], gateway.id)
            for gateway in scenario.gateway
        ]
        return [*alone, *gateways]

    def endpoint(self, endpoint_id: str) -> Endpoint:
        """The address of that id: a device's by itself, or a gateway's.

        Raises NotFound.
        """
        found = self.endpoints.get(endpoint_id)
        if found is None:
            raise NotFound("address", endpoint_id)
        return found

    def advance(self, now_us: int) -> None:
        """Let time pass for everything; what is to be done at its time is done first."""
        for play in tuple(self.plays.values()):
            play.advance(now_us)
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
        found = (device for device in self.devices.values() if address in device.described_addresses)
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
