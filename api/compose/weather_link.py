"""The in-memory link in any weather: messages delayed, lost, doubled, connections half open or broken, by a seed."""

from __future__ import annotations

import asyncio
from collections import deque

from api.compose.memory_link import SCHEME, MemoryLink, MemoryTransport
from api.compose.weather import CLEAR, Weather
from fleet.adapters.adapter import Transport
from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from simulator.luck import Luck
from simulator.virtual_fleet import VirtualFleet

_US_PER_MS = 1_000


class _Line:
    """One direction of one device's line: what becomes of each message, drawn in their order."""

    def __init__(self, weather: Weather, luck: Luck, name: str) -> None:
        self._weather = weather
        self._draws = luck.generator(f"weather of {name}")
        self._clear_until_us = 0

    def through(self, message: bytes, now_us: int) -> list[tuple[int, bytes]]:
        """What comes out at the other end, each with its moment; nothing overtakes."""
        weather = self._weather
        lost, doubled, late = self._draws.uniform(size=3)
        if lost < weather.loss:
            return []
        due_us = now_us + round((weather.delay_ms + late * weather.jitter_ms) * _US_PER_MS)
        self._clear_until_us = max(self._clear_until_us, due_us)
        return [(self._clear_until_us, message)] * (2 if doubled < weather.duplicate else 1)


class WeatherTransport:
    """One connection of a console in the weather."""

    def __init__(self, inner: MemoryTransport, link: WeatherLink, device_id: str) -> None:
        self._inner = inner
        self._link = link
        self.device_id = device_id
        self._deaf = False
        self._broken = False
        self._outbox: deque[tuple[int, bytes]] = deque()
        self._inbox: deque[tuple[int, bytes]] = deque()

    async def send(self, message: bytes) -> None:
        """Send a message on its way; while half open, it is lost and nobody is told."""
        if self._broken:
            raise ConnectionError("the line broke")
        if self._is_deaf():
            return
        self._outbox.extend(self._link.to_device[self.device_id].through(message, self._link.now_us))
        await self.flush()

    async def flush(self) -> None:
        """Hand over what is due at the device."""
        while self._outbox and self._outbox[0][0] <= self._link.now_us and not self._broken:
            await self._inner.send(self._outbox.popleft()[1])

    async def receive(self) -> bytes:
        """The next message that arrives; whoever stops waiting for it loses nothing."""
        while True:
            while self._inbox and not self._is_deaf():
                wait_us = self._inbox[0][0] - self._link.time_us()
                if wait_us <= 0:
                    return self._inbox.popleft()[1]
                await self._link.clock.sleep(wait_us / MICROSECONDS_PER_SECOND)
            data = await self._inner.receive()
            if self._broken:
                raise ConnectionError("the line broke")
            if not self._is_deaf():
                line = self._link.to_console[self.device_id]
                self._inbox.extend(
                    line.through(data if isinstance(data, bytes) else data.encode(), self._inner.said_us)
                )

    def break_off(self) -> None:
        """The line breaks: what is on its way is lost with it, and both ends learn of it with the next message."""
        self._broken = True
        self._inbox.clear()
        self._outbox.clear()
        self._inner.hang_up()

    def _is_deaf(self) -> bool:
        self._deaf = self._deaf or self._link.is_half_open(self.device_id)
        return self._deaf

    async def close(self) -> None:
        """End the connection; harmless when it has ended."""
        self._link.transports.pop(self, None)
        await self._inner.close()


class WeatherLink(MemoryLink):
    """Joins a virtual fleet to adapters in some weather, drawn from a seed."""

    def __init__(self, fleet: VirtualFleet, clock: Clock, weather: Weather, seed: int) -> None:
        super().__init__(fleet, clock)
        luck = Luck(seed)
        self.clock = clock
        self.to_device = {name: _Line(weather, luck, f"the way to {name}") for name in fleet.endpoints}
        self.to_console = {name: _Line(weather, luck, f"the way from {name}") for name in fleet.endpoints}
        self.transports: dict[WeatherTransport, None] = {}
        self._weather = weather

    def time_us(self) -> int:
        """The moment that the clock shows, in the world's time."""
        return self.clock.monotonic_us() - self._began_us

    def is_half_open(self, device_id: str) -> bool:
        """Whether messages of that device vanish now."""
        return any(
            outage.covers(device_id, self.now_us / MICROSECONDS_PER_SECOND) for outage in self._weather.half_open
        )

    def is_parted(self, device_id: str) -> bool:
        """Whether that device can't be reached at all now."""
        return any(
            outage.covers(device_id, self.now_us / MICROSECONDS_PER_SECOND) for outage in self._weather.partition
        )

    async def connect(self, url: str) -> Transport:
        """Open a connection to a device, if the weather lets it."""
        if self._weather == CLEAR:
            return await self._open_to(url)
        device_id = url.removeprefix(SCHEME)
        if self.is_parted(device_id):
            raise ConnectionError("nothing answers")
        if self.is_half_open(device_id):
            await asyncio.Event().wait()  # A lost handshake; whoever connects gives up by itself.
        transport = WeatherTransport(await self._open_to(url), self, device_id)
        self.transports[transport] = None
        return transport

    async def after_turn(self) -> None:
        """Let due messages through, and break what a partition parts."""
        for transport in tuple(self.transports):
            if self.is_parted(transport.device_id):
                transport.break_off()
                self.transports.pop(transport, None)
                continue
            try:
                await transport.flush()
            except ConnectionError:
                self.transports.pop(transport, None)  # Its owner learns of it with the next message.
