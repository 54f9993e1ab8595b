"""Frames of readings into the live tables, vectorised.

A layout is resolved to index arrays once. Frames wait until the next tick, so that a flood costs one write a tick;
where several of one layout wait, they are merged so that the truth is kept: minima keep the least, maxima and flags the
most, the rest is the latest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place, parse_address
from fleet.model.fields import Field, Merge, Plane, reading
from fleet.model.observation import Layout, ReadingFrame
from fleet.model.quality import Quality
from fleet.readings import Cells, LiveTables

FRAMES_WAITING_MAXIMUM = 32
"""Frames of one layout that may wait for a tick; when full they are merged at once."""
LAYOUTS_PER_DEVICE = 8
"""Layouts remembered for one device; the oldest is forgotten."""


@dataclass(frozen=True, slots=True)
class Part:
    """The cells of a layout that belong to one table. ``positions`` index a frame's values."""

    place: Place
    positions: NDArray[np.intp]
    cells: Cells


@dataclass(slots=True)
class ResolvedLayout:
    """A layout as index arrays, with what is believable, and the frames that wait."""

    parts: tuple[Part, ...]
    minimum: NDArray[np.float64]
    maximum: NDArray[np.float64]
    whole: NDArray[np.bool_]
    least: NDArray[np.intp]
    most: NDArray[np.intp]
    unknown: tuple[str, ...]
    interval_us: int
    waiting: list[tuple[int, ReadingFrame]] = field(default_factory=list)


class FrameWriter:
    """Takes frames in and writes them into the tables."""

    def __init__(self, tables: LiveTables) -> None:
        self._tables = tables
        self._layouts: dict[str, dict[Layout, ResolvedLayout]] = {}

    def take(self, device_id: str, at_us: int, frame: ReadingFrame, holders: Mapping[str, str]) -> tuple[str, ...]:
        """Keep a frame for the next write; the cells that nobody knows are named once per layout."""
        layouts = self._layouts.setdefault(device_id, {})
        resolved = layouts.get(frame.layout)
        unknown: tuple[str, ...] = ()
        if resolved is None:
            resolved = resolve(frame.layout, device_id, self._tables, holders)
            unknown = resolved.unknown
            self._make_room(layouts)
            layouts[frame.layout] = resolved
        if frame.values.shape != resolved.minimum.shape:
            return (f"a frame of {frame.values.size} values for a layout of {resolved.minimum.size}",)
        resolved.waiting.append((at_us, frame))
        if len(resolved.waiting) >= FRAMES_WAITING_MAXIMUM:
            at_us, values, qualities = merged(resolved)
            resolved.waiting = [
                (at_us, ReadingFrame(frame.layout, frame.sequence, frame.device_time_us, values, qualities))
            ]
        return unknown

    def _make_room(self, layouts: dict[Layout, ResolvedLayout]) -> None:
        while len(layouts) >= LAYOUTS_PER_DEVICE:
            del layouts[next(iter(layouts))]

    def flush(self, device_id: str, fresh: bool) -> None:
        """Write what waits of one device; unless its contact is fresh nothing of it counts as good."""
        for resolved in self._layouts.get(device_id, {}).values():
            if resolved.waiting:
                at_us, values, qualities = merged(resolved)
                resolved.waiting = []
                if not fresh:
                    qualities[qualities == Quality.GOOD] = Quality.UNCERTAIN
                for part in resolved.parts:
                    self._tables[part.place].write(
                        part.cells, values[part.positions], qualities[part.positions], at_us, resolved.interval_us
                    )

    def has_waiting(self, device_id: str) -> bool:
        """Whether frames of that device wait."""
        return any(resolved.waiting for resolved in self._layouts.get(device_id, {}).values())

    def devices_waiting(self) -> tuple[str, ...]:
        """The devices of which frames wait."""
        return tuple(device_id for device_id in self._layouts if self.has_waiting(device_id))

    def forget_layouts(self, device_id: str) -> None:
        """Resolve the device's layouts anew at the next frame: its shape changed."""
        self._layouts.pop(device_id, None)


def resolve(layout: Layout, device_id: str, tables: LiveTables, holders: Mapping[str, str]) -> ResolvedLayout:
    """The layout as index arrays. Only cells of things that the device itself holds are known."""
    known: dict[Place, list[tuple[int, int, int]]] = {}
    fields: list[Field | None] = []
    unknown: list[str] = []
    for position, (address, name) in enumerate(layout.cells):
        place = _place(address) if holders.get(address) == device_id else None
        column = None if place is None else tables[place].column_of.get(name)
        row = None if place is None else tables[place].row_of(address)
        if place is None or column is None or row is None:
            unknown.append(f"{address} {name}")
            fields.append(None)
            continue
        known.setdefault(place, []).append((position, column, row))
        fields.append(reading(place, name))
    bounds = [_bounds(each) for each in fields]
    return ResolvedLayout(
        parts=tuple(_part(place, cells) for place, cells in known.items()),
        minimum=np.array([low for low, _ in bounds]),
        maximum=np.array([high for _, high in bounds]),
        whole=np.array([each is not None and each.plane is Plane.UINT8 for each in fields], dtype=np.bool_),
        least=_where(fields, Merge.LEAST),
        most=np.concatenate([_where(fields, Merge.MOST), _where(fields, Merge.ANY)]),
        unknown=tuple(unknown),
        interval_us=layout.interval_ms * 1_000,
    )


def merged(resolved: ResolvedLayout) -> tuple[int, NDArray[np.float64], NDArray[np.uint8]]:
    """The waiting frames as one: when the newest came, values and qualities, believable or marked."""
    at_us, newest = resolved.waiting[-1]
    values = newest.values.astype(np.float64, copy=True)
    if newest.qualities is not None:
        values[newest.qualities == Quality.ABSENT] = np.nan
    if len(resolved.waiting) > 1:
        stack = np.stack([_trusted(frame) for _, frame in resolved.waiting])
        values[resolved.least] = np.fmin.reduce(stack[:, resolved.least])
        values[resolved.most] = np.fmax.reduce(stack[:, resolved.most])
    if newest.qualities is None:
        qualities = np.full(values.shape, Quality.GOOD, dtype=np.uint8)
    else:
        qualities = np.minimum(newest.qualities, Quality.BAD).astype(np.uint8)
        qualities[qualities == Quality.ABSENT] = Quality.GOOD
    unbelievable = (values < resolved.minimum) | (values > resolved.maximum)
    unbelievable |= resolved.whole & (values != np.floor(values))
    qualities[unbelievable] = Quality.BAD
    qualities[np.isnan(values)] = Quality.ABSENT
    return at_us, values, qualities


def _trusted(frame: ReadingFrame) -> NDArray[np.float64]:
    """A frame's values without those that the device itself doesn't call good."""
    if frame.qualities is None:
        return frame.values
    return np.where(frame.qualities == Quality.GOOD, frame.values, np.nan)


def _part(place: Place, cells: list[tuple[int, int, int]]) -> Part:
    array = np.array(cells, dtype=np.intp)
    return Part(place, array[:, 0], Cells(array[:, 1], array[:, 2]))


def _where(fields: list[Field | None], merge: Merge) -> NDArray[np.intp]:
    return np.array([i for i, each in enumerate(fields) if each is not None and each.merge is merge], dtype=np.intp)


def _bounds(known: Field | None) -> tuple[float, float]:
    if known is None:
        return -np.inf, np.inf
    if known.choices:
        return 0.0, float(len(known.choices) - 1)
    if known.minimum is None or known.maximum is None:
        return 0.0, 1.0
    return known.minimum, known.maximum


def _place(address: str) -> Place | None:
    try:
        return parse_address(address).place
    except ValueError:
        return None
