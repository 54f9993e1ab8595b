"""A connection in memory: two ends, bounded, as strict as a socket about being closed."""

from __future__ import annotations

import asyncio

from fleet.adapters.adapter import Transport

CAPACITY = 1_000


class _Line:
    """One direction: what is on its way, and whether anybody still listens."""

    def __init__(self) -> None:
        self.messages: asyncio.Queue[bytes | None] = asyncio.Queue(CAPACITY)
        self.closed = False
        self.ended = False

    def end(self) -> None:
        """Take nothing more; what is on its way still arrives, as on a socket that its sender closes in order."""
        if self.messages.full():
            self.close()
        elif not self.ended:
            self.ended = True
            self.messages.put_nowait(None)

    def close(self) -> None:
        """Lose what is on its way, and wake whoever waits at either end."""
        self.closed = self.ended = True
        while not self.messages.empty():
            self.messages.get_nowait()
        self.messages.put_nowait(None)


class MemoryTransport:
    """One end of a connection in memory. Closing either end closes both; what it had sent before still arrives."""

    def __init__(self, incoming: _Line, outgoing: _Line) -> None:
        self._incoming = incoming
        self._outgoing = outgoing

    async def send(self, message: bytes) -> None:
        if self._outgoing.ended:
            raise ConnectionError("the connection was closed")
        await self._outgoing.messages.put(message)

    async def receive(self) -> bytes:
        message = None if self._incoming.closed else await self._incoming.messages.get()
        if message is None or self._incoming.closed:
            self._incoming.close()
            raise ConnectionError("the connection was closed")
        return message

    async def close(self) -> None:
        if not self._incoming.closed:
            self._incoming.close()
        self._outgoing.end()


def memory_link() -> tuple[MemoryTransport, MemoryTransport]:
    """The two ends of a new connection."""
    there, back = _Line(), _Line()
    return MemoryTransport(back, there), MemoryTransport(there, back)


def is_transport(end: MemoryTransport) -> Transport:
    """The end as the interface sees it; the type checker holds it to that."""
    return end
