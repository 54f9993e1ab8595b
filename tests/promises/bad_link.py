"""The in-memory link, made bad on cue: messages lost or doubled, the line stalled, cut, or dead at one end.

What was on its way when a connection ended is lost with it; while it stands, order is kept, as TCP keeps it.
"""

from __future__ import annotations

import asyncio
import re
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from api.compose.memory_link import SCHEME, MemoryLink
from fleet.adapters.adapter import Transport
from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from simulator.virtual_fleet import VirtualFleet

REQUEST = b'"method":"write"'
ANSWER = b'"result":'
CHANGED = b'"method":"changed"'
OUTCOME = b'"method":"outcome"'
HEARTBEAT = b'"method":"heartbeat"'
_COUNTER = re.compile(rb'"counter":\d+')


@dataclass(slots=True)
class Wire:
    """The faults of one device's line.

    ``lose``, ``double`` and ``replay`` hold a mark of each message that is to be hit, once; one that is replayed comes
    again after the next of its kind. ``inject`` is put before the next message of the device. ``stalled_until_us``
    holds everything up, in order. While ``half_open`` nothing arrives and nobody is told. While ``frozen`` the device's
    measuring loop stands still, though it answers and sends.
    """

    lose: list[bytes] = field(default_factory=list)
    double: list[bytes] = field(default_factory=list)
    replay: list[bytes] = field(default_factory=list)
    inject: list[bytes] = field(default_factory=list)
    stalled_until_us: int = 0
    half_open: bool = False
    refuses: bool = False
    frozen: bool = False
    _kept: dict[bytes, bytes] = field(default_factory=dict)
    _counter: bytes = b'"counter":0'

    def through(self, message: bytes) -> list[bytes]:
        """What comes out at the other end in place of a message."""
        message = self._beat(message)
        if _hit(self.lose, message):
            return []
        if _hit(self.double, message):
            return [message, message]
        again = [self._kept.pop(mark) for mark in tuple(self._kept) if mark in message]
        mark = _hit(self.replay, message)
        if mark:
            self._kept[mark] = message
        return [message, *again]

    def _beat(self, message: bytes) -> bytes:
        if HEARTBEAT not in message:
            return message
        if not self.frozen:
            self._counter = next(iter(_COUNTER.findall(message)))
        return _COUNTER.sub(self._counter, message)

    def heal(self) -> None:
        for marks in (self.lose, self.double, self.replay, self._kept):
            marks.clear()
        self.stalled_until_us = 0
        self.half_open = self.refuses = self.frozen = False


def _hit(marks: list[bytes], message: bytes) -> bytes:
    """The mark that the message bears, which is used up; empty when it bears none."""
    for mark in marks:
        if mark in message:
            marks.remove(mark)
            return mark
    return b""


class BadTransport:
    """One connection. A line that became half open stays so for it until it ends."""

    def __init__(self, inner: Transport, wire: Wire, link: BadLink) -> None:
        self._inner = inner
        self._wire = wire
        self._link = link
        self._deaf = False
        self._cut = False
        self._outbox: deque[bytes] = deque()
        self._inbox: deque[bytes] = deque()

    async def send(self, message: bytes) -> None:
        if self._link.dead:
            raise ConnectionError("the console is dead")
        self._deaf = self._deaf or self._wire.half_open
        if self._deaf:
            return
        self._outbox.extend(self._wire.through(message))
        await self.flush()

    async def flush(self) -> None:
        while self._outbox and not self._stalled_us():
            await self._inner.send(self._outbox.popleft())

    async def receive(self) -> bytes:
        while True:
            while self._inbox and not self._deaf:
                if not self._stalled_us():
                    return self._inbox.popleft()
                await self._link.clock.sleep(self._stalled_us() / MICROSECONDS_PER_SECOND)
            message = await self._inner.receive()
            if self._cut:
                raise ConnectionError("the line was cut")
            self._deaf = self._deaf or self._wire.half_open
            data = message.encode() if isinstance(message, str) else message
            self._inbox.extend((*self._wire.inject, *self._wire.through(data)))
            self._wire.inject.clear()

    def cut_with(self, wire: Wire) -> None:
        """End with the next message, where it goes over that wire."""
        self._cut = self._cut or wire is self._wire

    async def close(self) -> None:
        self._link.transports.discard(self)
        await self._inner.close()

    def _stalled_us(self) -> int:
        return max(0, self._wire.stalled_until_us - self._link.clock.monotonic_us())


class BadLink(MemoryLink):
    """``dead`` is the console's end: then nothing leaves it. ``after_block`` is called each tenth of a second."""

    def __init__(self, fleet: VirtualFleet, clock: Clock) -> None:
        super().__init__(fleet, clock)
        self.clock = clock
        self.dead = False
        self.wires = {name: Wire() for name in fleet.endpoints}
        for endpoint in fleet.endpoints.values():
            self.wires |= dict.fromkeys(endpoint.devices, self.wires[endpoint.endpoint_id])
        self.transports: set[BadTransport] = set()
        self.after_block: list[Callable[[], None]] = []

    async def connect(self, url: str) -> Transport:
        wire = self.wires[url.removeprefix(SCHEME)]
        if self.dead or wire.refuses:
            raise ConnectionError("nothing answers")
        if wire.half_open:
            await asyncio.Event().wait()  # A lost handshake; whoever connects gives up by itself.
        transport = BadTransport(await super().connect(url), wire, self)
        self.transports.add(transport)
        return transport

    def cut(self, device_id: str) -> None:
        """End every connection of a device, or of the gateway before it; what is on its way is lost."""
        if device_id in self.fleet.endpoints:
            for listener in self.fleet.devices[device_id].audience.listeners:
                listener.hang_up()
            return
        for transport in self.transports:
            transport.cut_with(self.wires[device_id])

    def heal(self) -> None:
        for wire in self.wires.values():
            wire.heal()
        for link in self.fleet.world.links:
            link.held = link.dropped = False

    async def run(self) -> None:
        turning = asyncio.create_task(super().run(), name="the world")
        try:
            while True:
                await self.clock.sleep(0.1)
                for transport in tuple(self.transports):
                    await self._flushed(transport)
                for act in self.after_block:
                    act()
        finally:
            turning.cancel()
            await asyncio.gather(turning, return_exceptions=True)

    async def _flushed(self, transport: BadTransport) -> None:
        try:
            await transport.flush()
        except ConnectionError:
            self.transports.discard(transport)
