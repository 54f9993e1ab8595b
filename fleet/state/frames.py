"""Frames of readings into the live tables, all devices at once.

Frames wait until the next tick, so that a flood costs one write a tick. Where several of one layout wait, they are
merged so that the truth is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.merging import merge_frames
from fleet.model.observation import Layout, ReadingFrame
from fleet.model.quality import Quality
from fleet.readings import Cells, LiveTables, Written
from fleet.state.layouts import PLACES, ResolvedLayout, resolve

FRAMES_WAITING_MAXIMUM = 32
"""Frames of one layout that may wait for a tick; when full they are merged into one."""
LAYOUTS_PER_DEVICE = 8
"""Layouts remembered for one device; the oldest is forgotten."""
_ABSENT, _GOOD, _UNCERTAIN, _BAD = (int(quality) for quality in Quality)


class FrameWriter:
    """Takes frames in and writes them into the tables."""

    def __init__(self, tables: LiveTables) -> None:
        self._tables = tables
        self._layouts: dict[str, dict[Layout, ResolvedLayout]] = {}
        self._waiting: dict[ResolvedLayout, None] = {}
        self._batch = _Batch(())

    def take(self, device_id: str, at_us: int, frame: ReadingFrame, holders: Mapping[str, str]) -> tuple[str, ...]:
        """Keep a frame, measured at ``at_us``, for the next write.

        Frames come in the order in which they were measured, so none counts as older than the one before.
        What of it is left out is named once per layout; a frame of the wrong length is left out as a whole.
        """
        resolved = self._layouts.get(device_id, {}).get(frame.layout)
        unknown: tuple[str, ...] = ()
        if resolved is None:
            resolved = resolve(frame.layout, device_id, self._tables, holders)
            unknown = resolved.unknown
            self._remember(device_id, frame.layout, resolved)
        if frame.values.shape != resolved.whole.shape:
            return (f"a frame of {frame.values.size} values for a layout of {resolved.size}",)
        resolved.newest_us = max(resolved.newest_us, at_us)
        resolved.waiting.append((resolved.newest_us, frame))
        self._waiting[resolved] = None
        if len(resolved.waiting) >= FRAMES_WAITING_MAXIMUM:
            resolved.waiting = [(resolved.newest_us, merged(resolved))]
        return unknown

    def _remember(self, device_id: str, layout: Layout, resolved: ResolvedLayout) -> None:
        layouts = self._layouts.setdefault(device_id, {})
        while len(layouts) >= LAYOUTS_PER_DEVICE:
            del layouts[next(iter(layouts))]
        layouts[layout] = resolved

    def forget_layouts(self, device_id: str) -> None:
        """Resolve the device's layouts anew at the next frame: its shape changed, or another connection began."""
        for resolved in self._layouts.pop(device_id, {}).values():
            self._waiting.pop(resolved, None)

    def flush(self, is_fresh: Callable[[str], bool], device_id: str | None = None) -> None:
        """Write what waits, of one device or of all; of a device without fresh contact nothing counts as good."""
        chosen = [each for each in self._waiting if device_id in (None, each.device_id) and each.size]
        if not chosen:
            return
        for resolved in chosen:
            del self._waiting[resolved]
        if not self._batch.is_of(chosen):
            self._batch = _Batch(chosen)
        for place, cells, written in self._batch.take(is_fresh):
            self._tables[place].write(cells, written)


class _Batch:
    """Several layouts as one; kept from tick to tick while the same ones wait, which is the usual case."""

    def __init__(self, layouts: Sequence[ResolvedLayout]) -> None:
        self._layouts = list(layouts)
        self._sizes = [resolved.size for resolved in layouts]
        if not layouts:
            return
        index = np.concatenate([resolved.index for resolved in layouts], axis=1)
        self._bounds = np.concatenate([resolved.bounds for resolved in layouts], axis=1)
        self._whole = np.concatenate([resolved.whole for resolved in layouts])
        self._interval_us = np.repeat([resolved.interval_us for resolved in layouts], self._sizes)
        self._parts = [
            (place, positions, Cells(index[1, positions], index[2, positions]))
            for number, place in enumerate(PLACES)
            if (positions := np.flatnonzero(index[0] == number)).size
        ]

    def is_of(self, layouts: list[ResolvedLayout]) -> bool:
        """Whether the batch is of just these layouts, in this order."""
        return self._layouts == layouts

    def take(self, is_fresh: Callable[[str], bool]) -> Iterator[tuple[Place, Cells, Written]]:
        """What waits in these layouts, table by table; nothing waits afterwards."""
        times, frames = zip(*(self._newest(resolved) for resolved in self._layouts), strict=True)
        values = np.concatenate([frame.values for frame in frames])
        at_us = np.repeat(times, self._sizes)
        qualities = self._qualities(frames, values)
        doubtful = [not is_fresh(resolved.device_id) for resolved in self._layouts]
        if any(doubtful):
            qualities[np.repeat(doubtful, self._sizes) & (qualities == _GOOD)] = _UNCERTAIN
        for place, positions, cells in self._parts:
            written = Written(values[positions], qualities[positions], at_us[positions], self._interval_us[positions])
            yield place, cells, written

    def _newest(self, resolved: ResolvedLayout) -> tuple[int, ReadingFrame]:
        at_us, frame = resolved.waiting[-1]
        if len(resolved.waiting) > 1:
            frame = merged(resolved)
        resolved.waiting = []
        return at_us, frame

    def _qualities(self, frames: Sequence[ReadingFrame], values: NDArray[np.float64]) -> NDArray[np.uint8]:
        """The device's word where it gave one; bad what can't be believed; absent what isn't there."""
        if all(frame.qualities is None for frame in frames):
            qualities = np.full(values.shape, _GOOD, dtype=np.uint8)
        else:
            qualities = np.concatenate([_said(frame) for frame in frames])
            values[qualities == _ABSENT] = np.nan
        unbelievable = (values < self._bounds[0]) | (values > self._bounds[1])
        unbelievable |= self._whole & (values != np.floor(values))
        qualities[unbelievable] = _BAD
        qualities[np.isnan(values)] = _ABSENT
        return qualities


def merged(resolved: ResolvedLayout) -> ReadingFrame:
    """The waiting frames as one; only good values take part, the newest says what is shown where there is none."""
    frames = [frame for _, frame in resolved.waiting]
    newest = frames[-1]
    values = merge_frames(np.stack([_trusted(frame) for frame in frames]), resolved.merge)
    found = ~np.isnan(values)
    qualities = None if newest.qualities is None else np.where(found, _GOOD, _said(newest)).astype(np.uint8)
    return replace(
        newest,
        values=np.where(found, values, newest.values),
        qualities=qualities,
        coalesced=sum(frame.coalesced for frame in frames),
    )


def _said(frame: ReadingFrame) -> NDArray[np.uint8]:
    """The qualities as the device gave them, those that nobody knows as bad."""
    if frame.qualities is None:
        return np.full(frame.values.shape, _GOOD, dtype=np.uint8)
    return np.minimum(frame.qualities, _BAD).astype(np.uint8)


def _trusted(frame: ReadingFrame) -> NDArray[np.float64]:
    """A frame's values without those that the device itself doesn't call good."""
    if frame.qualities is None:
        return frame.values
    return np.where(frame.qualities == _GOOD, frame.values, np.nan)
