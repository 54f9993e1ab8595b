"""Frames of one device that came close together, handed on as one.

At an ordinary pace each frame goes on by itself, at once. Those of a device that floods, or that a console which was
held up finds waiting, are merged so that the truth is kept, and cost little more than their decoding.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.errors import MalformedMessage
from fleet.model.merging import MergeRules, merge_frames, merge_rules
from fleet.model.observation import Layout, ReadingFrame
from fleet.model.quality import Quality
from fleet.protocol import messages
from fleet.protocol.readings_values import qualities_of, values_of

FRAMES_MAXIMUM = 64
"""Frames that may wait; when full they are handed on at once."""


class FrameBatch:
    """The frames of one layout that wait to be handed on."""

    def __init__(self, layout: Layout) -> None:
        self._layout = layout
        self._cells = len(layout.cells)
        self._rules: MergeRules | None = None
        self._newest: messages.Readings | None = None
        self._count = 0
        self._values: list[float | bool | None] = []  # Frame after frame: far quicker made an array than nested lists.

    def add(self, readings: messages.Readings) -> bool:
        """Keep a frame that has neither qualities nor exact readings; whether there is room for more.

        Raises MalformedMessage when it doesn't fit the layout.
        """
        if len(readings.values) != self._cells:
            raise MalformedMessage(f"a frame of {len(readings.values)} values where the layout has {self._cells}")
        self._newest = readings
        self._values += readings.values
        self._count += 1
        return self._count < FRAMES_MAXIMUM

    @property
    def newest_us(self) -> int | None:
        """The device's time of the newest frame, or None when none waits."""
        return None if self._newest is None else self._newest.device_time_us

    def take(self, age_us: int, *, too_old: bool) -> ReadingFrame:
        """What waits as one frame of that age; nothing waits afterwards."""
        newest, self._newest = self._newest, None
        values, self._values = self._values, []
        count, self._count = self._count, 0
        if newest is None:
            raise ValueError("no frame waits")
        stack = np.array(values, dtype=np.float64).reshape(count, self._cells)
        merged = stack[0] if count == 1 else merge_frames(stack, self._merge_rules())
        qualities = _doubted(merged, None) if too_old else None
        return ReadingFrame(self._layout, newest.sequence, newest.device_time_us, merged, qualities, count, age_us)

    def alone(self, readings: messages.Readings, age_us: int, *, too_old: bool) -> ReadingFrame:
        """One frame of that age by itself, with the qualities that came with it.

        Raises MalformedMessage when it doesn't fit the layout.
        """
        values = values_of(readings, self._cells)
        qualities = qualities_of(readings, values)
        if too_old:
            qualities = _doubted(values, qualities)
        device_us = readings.device_time_us
        return ReadingFrame(self._layout, readings.sequence, device_us, values, qualities, age_us=age_us)

    def _merge_rules(self) -> MergeRules:
        if self._rules is None:
            self._rules = merge_rules(self._layout.cells)
        return self._rules


def _doubted(values: NDArray[np.float64], qualities: NDArray[np.uint8] | None) -> NDArray[np.uint8]:
    """The qualities of a frame that was too old when it came: nothing good, uncertain at most."""
    if qualities is None:
        return np.where(np.isnan(values), Quality.ABSENT, Quality.UNCERTAIN).astype(np.uint8)
    return np.where(qualities == Quality.GOOD, Quality.UNCERTAIN, qualities).astype(np.uint8)
