"""A supervisor over some devices, on virtual time."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

import numpy as np

from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import LoopClock
from fleet.model.device import ContactState
from tests.adapters.fake_device import FakeDevice
from tests.adapters.rig import Heard, Network
from tests.virtual_time import run_virtual


class Watched:
    """A supervisor over some devices."""

    def __init__(self, *device_ids: str, heard: Heard) -> None:
        self.clock = LoopClock(0)
        self.network = Network()
        self.heard = heard
        self.devices = {device_id: FakeDevice(device_id, self.clock) for device_id in device_ids}
        self.addresses = [self.network.add(device) for device in self.devices.values()]
        self.supervisor = Supervisor(
            self.clock,
            np.random.default_rng(7),
            self.heard,
            lambda address, sink: OpenJsonAdapter(address, self.network.connect, self.clock, sink),
        )

    def states(self, device_id: str) -> list[ContactState]:
        """The contact states of a device in order, repeats left out."""
        states = [contact.state for contact in self.heard.contacts if contact.device_id == device_id]
        return [state for i, state in enumerate(states) if i == 0 or state is not states[i - 1]]

    def reasons(self, device_id: str) -> str:
        return " | ".join(contact.reason for contact in self.heard.contacts if contact.device_id == device_id)

    def url(self, device_id: str) -> str:
        return next(address.url for address in self.addresses if address.device_id == device_id)

    def attempts(self, device_id: str) -> list[float]:
        return [at for at, url in self.network.attempts if url == self.url(device_id)]


@asynccontextmanager
async def watching(*device_ids: str, heard: Heard) -> AsyncIterator[Watched]:
    watched = Watched(*device_ids, heard=heard)
    await watched.supervisor.start(watched.addresses)
    try:
        yield watched
    finally:
        await watched.supervisor.stop()
        await watched.network.close()


def on_virtual_time(check: Callable[[Watched], Awaitable[None]], *device_ids: str, heard: Heard | None = None) -> None:
    async def main() -> None:
        async with watching(*device_ids, heard=heard or Heard()) as watched:
            await check(watched)

    run_virtual(main())
