"""A console's end and a device's, joined in memory on virtual time."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from fleet.adapters.adapter import Adapter, Connect, Sink, Transport
from fleet.clock import Clock, LoopClock
from fleet.config import DeviceAddress
from fleet.model.command import Command, CommandState
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.model.observation import Contact, Observation, ReadingFrame, SettingsReport
from tests.adapters.fake_device import PACK, FakeDevice
from tests.adapters.fake_gateway import FakeGateway
from tests.adapters.link import is_transport, memory_link

DEVICE_ID = "quay-1"
MakeAdapter = Callable[[DeviceAddress, Connect, Clock, Sink], Adapter]


class Heard:
    """A sink that keeps what it was given."""

    def __init__(self) -> None:
        self.items: list[Observation | Contact] = []

    def __call__(self, item: Observation | Contact) -> None:
        self.items.append(item)

    @property
    def contacts(self) -> list[Contact]:
        return [item for item in self.items if isinstance(item, Contact)]

    @property
    def observations(self) -> list[Observation]:
        return [item for item in self.items if isinstance(item, Observation)]

    @property
    def reports(self) -> list[SettingsReport]:
        return [report for item in self.observations for report in item.reports]

    @property
    def frames(self) -> list[ReadingFrame]:
        return [item.frame for item in self.observations if item.frame is not None]


class Network:
    """Devices by URL; connecting starts a task of the device."""

    def __init__(self) -> None:
        self.devices: dict[str, FakeDevice | FakeGateway] = {}
        self.unreachable: set[str] = set()
        self.attempts: list[tuple[float, str]] = []
        self._tasks: set[asyncio.Task[None]] = set()

    def add(self, device: FakeDevice | FakeGateway) -> DeviceAddress:
        address = DeviceAddress(device.device_id, f"ws://127.0.0.1:1/{device.device_id}")
        self.devices[address.url] = device
        return address

    async def connect(self, url: str) -> Transport:
        self.attempts.append((asyncio.get_running_loop().time(), url))
        if url in self.unreachable:
            raise ConnectionRefusedError("connection refused")
        console, device = memory_link()
        task = asyncio.create_task(self.devices[url].serve(device))
        self._tasks.add(task)
        return is_transport(console)

    async def close(self) -> None:
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)


class Rig:
    """One adapter and one device. What ``prepare`` does to the device comes before the contact."""

    def __init__(self, make_adapter: MakeAdapter, prepare: Callable[[FakeDevice], None] = lambda _: None) -> None:
        self.clock = LoopClock(0)
        self.heard = Heard()
        self.network = Network()
        self.device = FakeDevice(DEVICE_ID, self.clock)
        prepare(self.device)
        self.address = self.network.add(self.device)
        self.adapter = make_adapter(self.address, self.network.connect, self.clock, self.heard)

    @property
    def described(self) -> DeviceDescription:
        """What the adapter must say of the device."""
        return self.device.description


@asynccontextmanager
async def connected(
    make_adapter: MakeAdapter, prepare: Callable[[FakeDevice], None] = lambda _: None
) -> AsyncIterator[Rig]:
    """A rig in contact, its ``run`` going on; ends without leaving a task."""
    rig = Rig(make_adapter, prepare)
    async with in_contact(rig):
        yield rig


@asynccontextmanager
async def in_contact(rig: Rig) -> AsyncIterator[None]:
    """Bring a rig into contact, its ``run`` going on; ends without leaving a task."""
    await rig.adapter.connect()
    running = asyncio.create_task(rig.adapter.run(), name="run")
    try:
        yield
    finally:
        running.cancel()
        await asyncio.gather(running, return_exceptions=True)
        await rig.adapter.close()
        await rig.network.close()


def command(command_id: str = "c-1", revision: str = "boot-1.1", **changes: Value) -> Command:
    """A write of the pack, about to be sent."""
    return Command(
        command_id, PACK, DEVICE_ID, changes or {"low_cut_hz": 120}, revision, "somebody", 0, CommandState.SENT, 0
    )


def act(name: str, target: str = DEVICE_ID, command_id: str = "a-1", **arguments: Value) -> Command:
    """An act on the device, or on its pack, about to be sent."""
    return Command(command_id, target, DEVICE_ID, arguments, "", "somebody", 0, CommandState.SENT, 0, act=name)
