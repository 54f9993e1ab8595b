"""The only reader of time: the system's clock, the clock of a running loop, and one turned by hand."""

from __future__ import annotations

import asyncio
import heapq
import itertools
import time
from typing import Protocol

MICROSECONDS_PER_SECOND = 1_000_000


class Clock(Protocol):
    """What every part that needs time is given.

    ``monotonic_us`` never goes back and serves durations; ``utc_us`` is for display and may be corrected.
    """

    def monotonic_us(self) -> int:
        """Microseconds since some fixed moment."""

    def utc_us(self) -> int:
        """Microseconds of UTC since 1970-01-01."""

    async def sleep(self, seconds: float) -> None:
        """Return once that many seconds of this clock have passed."""


class SystemClock:
    """The machine's own time."""

    def monotonic_us(self) -> int:
        """Microseconds of the machine's monotonic clock."""
        return time.monotonic_ns() // 1000

    def utc_us(self) -> int:
        """Microseconds of UTC, as the machine believes it."""
        return time.time_ns() // 1000

    async def sleep(self, seconds: float) -> None:
        """Sleep on the running loop."""
        await asyncio.sleep(max(0.0, seconds))


class LoopClock:
    """The time of the running event loop, so that a virtual-time loop carries everything with it."""

    def __init__(self, utc_start_us: int) -> None:
        self._utc_start_us = utc_start_us

    def monotonic_us(self) -> int:
        """Microseconds of the running loop's time."""
        return round(asyncio.get_running_loop().time() * MICROSECONDS_PER_SECOND)

    def utc_us(self) -> int:
        """The start that was given plus the loop's time."""
        return self._utc_start_us + self.monotonic_us()

    async def sleep(self, seconds: float) -> None:
        """Sleep on the running loop."""
        await asyncio.sleep(max(0.0, seconds))


class ManualClock:
    """A clock that stands still until somebody calls ``advance``."""

    def __init__(self, utc_start_us: int = 0) -> None:
        self._utc_start_us = utc_start_us
        self._now_us = 0
        self._order = itertools.count()
        self._sleepers: list[tuple[int, int, asyncio.Future[None]]] = []

    def monotonic_us(self) -> int:
        """Microseconds by which the clock was advanced."""
        return self._now_us

    def utc_us(self) -> int:
        """The start that was given plus what was advanced."""
        return self._utc_start_us + self._now_us

    async def sleep(self, seconds: float) -> None:
        """Return once ``advance`` has passed the moment."""
        due_us = self._now_us + round(max(0.0, seconds) * MICROSECONDS_PER_SECOND)
        if due_us <= self._now_us:
            await asyncio.sleep(0)
            return
        sleeper: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._sleepers, (due_us, next(self._order), sleeper))
        await sleeper

    async def advance(self, seconds: float) -> None:
        """Move on, waking each sleeper at its own moment and in order."""
        target_us = self._now_us + round(seconds * MICROSECONDS_PER_SECOND)
        while self._sleepers and self._sleepers[0][0] <= target_us:
            due_us, _, sleeper = heapq.heappop(self._sleepers)
            self._now_us = due_us
            if not sleeper.done():
                sleeper.set_result(None)
            await asyncio.sleep(0)
        self._now_us = target_us
        await asyncio.sleep(0)
