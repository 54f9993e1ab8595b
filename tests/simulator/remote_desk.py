"""A console on a real socket: one conversation with a virtual receiver whose server runs on a clock turned by hand."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from websockets.asyncio.client import ClientConnection, connect
from websockets.typing import Subprotocol

from fleet.clock import ManualClock
from fleet.model.fields import Value
from fleet.protocol import messages
from fleet.protocol.received import Received, Refusal, Result
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role
from simulator.scenario import Scenario
from simulator.server import SimulatorServer
from simulator.virtual_fleet import VirtualFleet

ANSWER_WITHIN_S = 20.0
SUBPROTOCOL = Subprotocol(messages.SUBPROTOCOL)


@asynccontextmanager
async def running(
    stage: Scenario, clock: ManualClock, seed: int = 7
) -> AsyncIterator[tuple[SimulatorServer, dict[str, str]]]:
    """A server on loopback and the addresses of its receivers, by device id."""
    print(f"seed {seed}")
    server = SimulatorServer(VirtualFleet(stage, seed), clock)
    listening = await server.start()
    turning = asyncio.create_task(server.run())
    try:
        yield server, {place.device_id: place.url for place in listening}
    finally:
        turning.cancel()
        await asyncio.gather(turning, return_exceptions=True)
        await server.stop()


def plain_connect(url: str) -> connect:
    """A connection as a console makes it."""
    return connect(url, subprotocols=[SUBPROTOCOL], compression=None, proxy=None)


class RemoteDesk:
    """Speaks with one receiver over a socket; time moves only in ``advance``, one frame at a time."""

    def __init__(self, connection: ClientConnection, device_id: str, clock: ManualClock) -> None:
        self.heard: list[Received] = []
        self.layout: list[tuple[str, str]] = []
        self._connection = connection
        self._device_id = device_id
        self._clock = clock
        self._session = Session(Role.CONSOLE)
        self._revisions: dict[str, str] = {}

    async def enter(self) -> None:
        """Greet, have described, read, subscribe."""
        hello = (await self._ask(self._session.hello("remote desk"))).body
        await self._ask(self._session.describe(self._device_id))
        assert isinstance(hello, messages.HelloResult)
        if any(one.id == self._device_id and one.leases for one in hello.devices):
            await self._ask(self._session.lease(self._device_id, 300))
        await self.read()
        granted = (await self._ask(self._session.subscribe(self._device_id, 100))).body
        assert isinstance(granted, messages.SubscribeResult)
        self.layout = [(entry.address, reading) for entry in granted.layout for reading in entry.readings]

    async def read(self) -> None:
        """Read the whole device again, for its revisions."""
        whole = (await self._ask(self._session.read(self._device_id))).body
        assert isinstance(whole, messages.ReadResult)
        self._revisions = {entry.address: entry.revision for entry in whole.settings}

    async def write(self, address: str, changes: dict[str, Value]) -> None:
        """Write at the revision that was read last."""
        await self._ask(self._session.write(address, f"c{len(self.heard)}", self._revisions[address], changes))

    async def advance(self, seconds: float) -> None:
        """Let time pass and hear every frame of it."""
        for _ in range(round(seconds * 10)):
            before = self._count()
            await self._clock.advance(0.1)
            await self.hear_frame(before)

    async def hear_frame(self, before: int) -> None:
        """Hear until there are more frames than that."""
        while self._count() == before:
            await self._hear()

    @property
    def frames(self) -> int:
        """How many frames were heard."""
        return self._count()

    def series(self, address: str, reading: str) -> list[float]:
        """One reading over all frames, where it isn't absent."""
        index = self.layout.index((address, reading))
        values = [item.values[index] for item in self.heard if isinstance(item, messages.Readings)]
        return [float(value) for value in values if value is not None]

    def exact(self, address: str, reading: str) -> object:
        """An exact reading as last told."""
        frames = [item for item in self.heard if isinstance(item, messages.Readings) and address in item.exact]
        return frames[-1].exact[address][reading]

    def _count(self) -> int:
        return sum(1 for item in self.heard if isinstance(item, messages.Readings))

    async def _hear(self) -> None:
        async with asyncio.timeout(ANSWER_WITHIN_S):
            self.heard += self._session.receive(await self._connection.recv())

    async def _ask(self, request_id: int) -> Result:
        for data in self._session.outgoing():
            await self._connection.send(data.decode())
        while True:
            for item in self.heard:
                if isinstance(item, Result | Refusal) and item.request_id == request_id:
                    assert isinstance(item, Result), item
                    return item
            await self._hear()
