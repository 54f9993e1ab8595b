"""Frames of one device's readings, handed on at an ordinary pace, or merged where they come in a flood."""

from __future__ import annotations

import asyncio

from fleet.adapters.adapter import Sink
from fleet.adapters.frame_batch import FrameBatch
from fleet.adapters.open_json_facts import require_known
from fleet.adapters.open_json_line import Line
from fleet.clock import MICROSECONDS_PER_SECOND
from fleet.model.observation import Layout, Observation
from fleet.protocol import messages

HAND_ON_EVERY_US = 50_000
"""Frames of one device are handed on this often at the most, which is twice as often as anybody looks at them."""


class FrameOutlet:
    """The open subscriptions of one device and the frames of them that wait."""

    def __init__(self, device_id: str, line: Line, sink: Sink) -> None:
        self._device_id = device_id
        self._line = line
        self._sink = sink
        self._batches: dict[int, FrameBatch] = {}
        self._waiting: FrameBatch | None = None
        self._handed_on_us = 0
        self._handing_on: asyncio.Handle | None = None

    def open(self, subscription: int, layout: Layout) -> None:
        """Frames of that subscription have that layout."""
        self._batches[subscription] = FrameBatch(layout)

    def end(self, subscription: int) -> None:
        """No frame of it follows."""
        self._batches.pop(subscription, None)

    def end_all(self) -> None:
        """Let every subscription go, and what waits."""
        self._batches.clear()
        self._waiting = None
        self._stop_timer()

    @property
    def subscriptions(self) -> frozenset[int]:
        """Those that are open."""
        return frozenset(self._batches)

    def take(self, readings: messages.Readings, known: frozenset[str]) -> None:
        """Keep a frame until frames are handed on; one that says more than values goes on by itself."""
        batch = self._batches[readings.subscription]
        if self._waiting is not batch:
            self.hand_on()
        if readings.exact or readings.qualities:
            self.hand_on()
            self._hand_on_alone(readings, batch, known)
            return
        room = batch.add(readings)
        if self._waiting is None:
            self._waiting = batch
            self._start_timer()
        if not room:
            self.hand_on()

    def hand_on(self) -> None:
        """Hand on what waits, as one frame."""
        batch, self._waiting = self._waiting, None
        if batch is None or batch.newest_us is None:
            return
        self._stop_timer()
        at = self._line.now()
        self._handed_on_us = at.monotonic_us
        age_us = self._line.age_us(batch.newest_us, at)
        frame = batch.take(age_us, too_old=self._line.is_too_old(age_us))
        self._sink(Observation(at, self._device_id, frame))

    def _hand_on_alone(self, readings: messages.Readings, batch: FrameBatch, known: frozenset[str]) -> None:
        require_known(readings.exact, known)
        at = self._line.now()
        age_us = self._line.age_us(readings.device_time_us, at)
        frame = batch.alone(readings, age_us, too_old=self._line.is_too_old(age_us))
        self._sink(Observation(at, self._device_id, frame, readings.exact))

    def _start_timer(self) -> None:
        """Hand on at the end of this pass of the loop, or later where frames were handed on just now."""
        wait_us = self._handed_on_us + HAND_ON_EVERY_US - self._line.now().monotonic_us
        loop = asyncio.get_running_loop()
        if wait_us > 0:
            self._handing_on = loop.call_later(wait_us / MICROSECONDS_PER_SECOND, self.hand_on)
        else:
            self._handing_on = loop.call_soon(self.hand_on)

    def _stop_timer(self) -> None:
        handle, self._handing_on = self._handing_on, None
        if handle is not None:
            handle.cancel()
