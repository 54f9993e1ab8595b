"""Virtual devices on sockets: one port each, one timer for all, and no client that can hold up another."""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections import deque
from dataclasses import dataclass

from websockets.asyncio.server import Server, ServerConnection, serve
from websockets.exceptions import ConnectionClosed
from websockets.typing import Subprotocol

from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.protocol.codec import LIMITS
from fleet.protocol.messages import SUBPROTOCOL
from simulator.conversation import Conversation
from simulator.endpoint import Endpoint
from simulator.guard import Guard
from simulator.ports import HOST, Ports
from simulator.virtual_fleet import VirtualFleet
from simulator.world import BLOCK_US

# A client with more than this unsent gets merged frames; with more than the other, it is dropped.
BACKLOG_MERGES = 16
BACKLOG_MAXIMUM = 1_024
CLIENTS_PER_DEVICE = 32
MESSAGES_PER_SECOND = 500
# When the machine slept for longer, the world slept, too.
BEHIND_MAXIMUM_US = 5_000_000
CLOSE_WITHIN_S = 1.0
# The system's own buffer would hold minutes of frames for a client that has stopped reading, all of them stale.
SEND_BUFFER_BYTES = 1 << 16
OPEN = Guard()
_CODE_TRY_LATER = 1013
_CODE_POLICY = 1008


@dataclass(frozen=True, slots=True)
class Listening:
    """Where a device or gateway listens."""

    device_id: str
    url: str


class _Client:
    """One connection: its conversation, and what waits to be sent."""

    def __init__(self, connection: ServerConnection, endpoint: Endpoint) -> None:
        self.conversation = Conversation(endpoint)
        self._connection = connection
        self._waiting: deque[bytes] = deque()
        self._wake = asyncio.Event()
        self._second = 0
        self._received = 0

    def turn(self, now_us: int) -> None:
        """Let time pass."""
        self._put(self.conversation.advance(now_us, readings=len(self._waiting) <= BACKLOG_MERGES))

    def take(self, data: str | bytes, now_us: int) -> None:
        """Take in a message; a client that sends more than 500 in a second is dropped."""
        second = now_us // MICROSECONDS_PER_SECOND
        self._received = self._received + 1 if second == self._second else 1
        self._second = second
        if self._received > MESSAGES_PER_SECOND:
            self.conversation.drop(f"more than {MESSAGES_PER_SECOND} messages in a second")
            self._wake.set()
            return
        self._put(self.conversation.receive(data, now_us))

    def _put(self, messages: list[bytes]) -> None:
        self._waiting.extend(messages)
        if len(self._waiting) > BACKLOG_MAXIMUM:
            self.conversation.drop(f"more than {BACKLOG_MAXIMUM} messages wait for a client that doesn't read")
        if self.conversation.closed and len(self._waiting) > BACKLOG_MERGES:
            self._connection.transport.abort()  # It would not read a farewell either.
        if self._waiting or self.conversation.closed:
            self._wake.set()

    async def send(self) -> None:
        """Send what there is until the conversation is over, then close the connection."""
        with contextlib.suppress(ConnectionClosed):
            while self._waiting or not self.conversation.closed:
                await self._wake.wait()
                self._wake.clear()
                while self._waiting:
                    await self._connection.send(self._waiting.popleft().decode())
            await self._connection.close(_CODE_POLICY, self.conversation.reason[:120])


class SimulatorServer:
    """A virtual fleet on loopback, in the time of a clock; ``guard`` says what clients must bring."""

    def __init__(self, fleet: VirtualFleet, clock: Clock, port_start: int | None = None, guard: Guard = OPEN) -> None:
        self.fleet = fleet
        self._clock = clock
        self._ports = Ports(port_start)
        self._guard = guard
        self._began_us = clock.monotonic_us()
        self._turned_us = 0
        self._servers: list[Server] = []
        self._clients: dict[str, list[_Client]] = {device_id: [] for device_id in fleet.endpoints}

    def now_us(self) -> int:
        """The world's time."""
        return max(self._turned_us, self._clock.monotonic_us() - self._began_us)

    async def start(self) -> tuple[Listening, ...]:
        """Listen for every device that stands by itself, and for every gateway, in order.

        Raises PortTaken when a named port is in use; nothing is left listening then.
        """
        try:
            return tuple([await self._listen(endpoint) for endpoint in self.fleet.endpoints.values()])
        except BaseException:
            await self.stop()
            raise

    async def _listen(self, endpoint: Endpoint) -> Listening:
        async def welcome(connection: ServerConnection) -> None:
            await self._serve(connection, endpoint)

        async def listen_on(port: int) -> None:
            server = await serve(
                welcome,
                HOST,
                port,
                subprotocols=[Subprotocol(SUBPROTOCOL)],
                origins=[None],  # No web page may speak to a device.
                process_request=self._guard.admit,
                ssl=self._guard.tls,
                compression=None,
                max_size=LIMITS.message_bytes,
                close_timeout=CLOSE_WITHIN_S,
                server_header=None,
            )
            self._servers.append(server)

        port = await self._ports.listen(listen_on)
        return Listening(endpoint.endpoint_id, f"{self._guard.scheme}://{HOST}:{port}")

    async def run(self) -> None:
        """Turn the world until cancelled."""
        while True:
            due_us = self._turned_us + BLOCK_US
            ahead_us = due_us - (self._clock.monotonic_us() - self._began_us)
            if ahead_us > 0:
                await self._clock.sleep(ahead_us / MICROSECONDS_PER_SECOND)
                continue
            if -ahead_us > BEHIND_MAXIMUM_US:
                self._began_us -= ahead_us
            self._turned_us = due_us
            self._turn(due_us)
            await self._clock.sleep(0)

    def _turn(self, now_us: int) -> None:
        self.fleet.advance(now_us)
        for clients in self._clients.values():
            for client in clients:
                client.turn(now_us)

    async def stop(self) -> None:
        """Close every connection and stop listening."""
        for server in self._servers:
            server.close()
        for server in self._servers:
            await server.wait_closed()
        self._servers.clear()

    async def _serve(self, connection: ServerConnection, endpoint: Endpoint) -> None:
        clients = self._clients[endpoint.endpoint_id]
        if len(clients) >= CLIENTS_PER_DEVICE:
            await connection.close(_CODE_TRY_LATER, f"at most {CLIENTS_PER_DEVICE} clients")
            return
        plain_socket: socket.socket = connection.transport.get_extra_info("socket")
        plain_socket.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
        client = _Client(connection, endpoint)
        clients.append(client)
        sending = asyncio.create_task(client.send(), name=f"sending for {endpoint.endpoint_id}")
        try:
            async for data in connection:
                client.take(data, self.now_us())
        except ConnectionClosed:
            pass  # However it ended, the client is gone.
        finally:
            clients.remove(client)
            client.conversation.close()
            sending.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await sending
