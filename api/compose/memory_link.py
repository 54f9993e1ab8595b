"""Virtual devices reached without sockets: the same bytes, the same conversations, in the time of any clock."""

from __future__ import annotations

import asyncio

from fleet.adapters.adapter import Transport
from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.config import DeviceAddress
from simulator.conversation import Conversation
from simulator.endpoint import Endpoint
from simulator.virtual_fleet import VirtualFleet
from simulator.world import BLOCK_US

SCHEME = "memory:"
WAITING_MAXIMUM = 1_024


class MemoryTransport:
    """The console's end of one conversation; ``said_us`` is when the device said what was received last.

    At most 1,024 messages wait to be taken; one more ends the connection, as it would with a real receiver.
    """

    def __init__(self, link: MemoryLink, endpoint: Endpoint) -> None:
        self._link = link
        self._conversation = Conversation(endpoint)
        self._waiting: asyncio.Queue[tuple[int, bytes | None]] = asyncio.Queue(WAITING_MAXIMUM)
        self._closed = False
        self.said_us = 0

    async def send(self, message: bytes) -> None:
        """Hand a message to the device; its answers wait to be received."""
        if self._closed or self._conversation.closed:
            raise ConnectionError(self._conversation.reason or "the connection was closed")
        self._put(self._conversation.receive(message, self._link.now_us))

    async def receive(self) -> bytes | str:
        """The next message."""
        self.said_us, message = await self._waiting.get()
        if message is None:
            raise ConnectionError(self._conversation.reason or "the connection was closed")
        return message

    async def close(self) -> None:
        """End the connection; harmless when it has ended."""
        if not self._closed:
            self._closed = True
            self._conversation.close()
            self._link.forget(self)

    def hang_up(self) -> None:
        """The line breaks; whoever receives learns of it."""
        self._conversation.drop("the line broke")
        self._link.forget(self)
        self._empty()
        self._waiting.put_nowait((self._link.now_us, None))

    def turn(self) -> None:
        """Let the device say what is due now."""
        self._put(self._conversation.advance(self._link.now_us))

    def _put(self, messages: list[bytes]) -> None:
        ended = self._conversation.closed
        if self._waiting.qsize() + len(messages) >= WAITING_MAXIMUM:
            self._conversation.drop(f"more than {WAITING_MAXIMUM} messages wait for a client that doesn't read")
            self._empty()
            ended, messages = True, []
        for message in messages:
            self._waiting.put_nowait((self._link.now_us, message))
        if ended:
            self._link.forget(self)
            self._waiting.put_nowait((self._link.now_us, None))

    def _empty(self) -> None:
        while not self._waiting.empty():
            self._waiting.get_nowait()


class MemoryLink:
    """Joins a virtual fleet to adapters. ``run`` turns the world; it belongs in a task of its own."""

    def __init__(self, fleet: VirtualFleet, clock: Clock) -> None:
        self.fleet = fleet
        self.now_us = 0
        self._clock = clock
        self._began_us = clock.monotonic_us()
        self._open: list[MemoryTransport] = []

    def addresses(self) -> tuple[DeviceAddress, ...]:
        """The devices, as a console's configuration lists them."""
        return tuple(DeviceAddress(device_id, SCHEME + device_id) for device_id in self.fleet.endpoints)

    async def connect(self, url: str) -> Transport:
        """Open a connection to a device."""
        return await self._open_to(url)

    async def _open_to(self, url: str) -> MemoryTransport:
        endpoint = self.fleet.endpoints.get(url.removeprefix(SCHEME))
        if endpoint is None:
            raise ConnectionError(f"no device is at {url}")
        transport = MemoryTransport(self, endpoint)
        self._open.append(transport)
        return transport

    def forget(self, transport: MemoryTransport) -> None:
        """A connection has ended."""
        if transport in self._open:
            self._open.remove(transport)

    async def run(self) -> None:
        """Turn the world, a tenth of a second at a time, until cancelled."""
        while True:
            due_us = self.now_us + BLOCK_US
            ahead_us = due_us - (self._clock.monotonic_us() - self._began_us)
            await self._clock.sleep(max(0, ahead_us) / MICROSECONDS_PER_SECOND)
            self.now_us = due_us
            self.fleet.advance(due_us)
            for transport in tuple(self._open):
                transport.turn()
            await self.after_turn()

    async def after_turn(self) -> None:
        """Do what is due once the world has turned; here, nothing."""
