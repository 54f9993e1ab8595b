"""What answers at one address: a device by itself, or a gateway with the devices behind it."""

from __future__ import annotations

from collections.abc import Sequence

from fleet.protocol.messages import DeviceSummary
from simulator.device import SimulatedDevice
from simulator.world import World


class Endpoint:
    """One address. ``gateway`` is what a gateway is called; empty for a device by itself.

    A gateway has a boot, a clock and silences of its own; ``silent_until_us`` is its own. ``alone`` is the device where
    it stands by itself.
    """

    def __init__(self, world: World, devices: Sequence[SimulatedDevice], gateway: str = "") -> None:
        self.world = world
        self.gateway = gateway
        self.devices = {device.device_id: device for device in devices}
        self.endpoint_id = gateway or next(iter(self.devices))
        self.silent_until_us = 0
        self.alone = None if gateway else next(iter(self.devices.values()))
        self._boot = world.luck.word(f"boot of {gateway}")

    @property
    def boot_id(self) -> str:
        """The boot of the connection."""
        return self._boot if self.alone is None else self.alone.boot_id

    def is_silent(self, now_us: int) -> bool:
        """Whether nothing is said here at all now."""
        return now_us < self.silent_until_us or (self.alone is not None and self.alone.is_silent(now_us))

    def time_us(self, now_us: int) -> int:
        """The one clock of the connection."""
        return now_us if self.alone is None else self.alone.device_time_us(now_us)

    @property
    def measured_blocks(self) -> int:
        """The counter that a heartbeat of the connection carries."""
        return self.world.blocks_done if self.alone is None else self.alone.measured_blocks

    def device_at(self, address: str) -> SimulatedDevice | None:
        """The device that something belongs to, or that controls that pack."""
        named = self.devices.get(address.partition("/")[0])
        if named is not None:
            return named
        return next((device for device in self.devices.values() if address in device.packs.seats), None)

    def summaries(self) -> list[DeviceSummary]:
        """What a greeting says of the devices."""
        return [
            DeviceSummary(
                id=device.device_id,
                kind=device.description.kind,
                form=device.description.form,
                simulated=True,
                digest=device.digest,
                boot_id=device.boot_id if self.gateway else "",
                read_only=device.description.read_only,
                leases=device.lease.exists,
            )
            for device in self.devices.values()
        ]

    def advance(self, now_us: int) -> None:
        """Let time pass."""
        for device in self.devices.values():
            device.advance(now_us)
