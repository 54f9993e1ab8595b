"""Layouts of readings frames, resolved once into index arrays over the live tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place, parse_address
from fleet.model.fields import Field, Plane, reading
from fleet.model.merging import MergeRules, merge_rules_of
from fleet.model.observation import Layout, ReadingFrame
from fleet.readings import NEVER_US, LiveTables

PLACES = tuple(Place)
UNKNOWN_PLACE = len(PLACES)


@dataclass(slots=True, eq=False)
class ResolvedLayout:
    """A layout as index arrays, and the frames that wait for the next write.

    ``index`` is [3, cell]: number of the place in ``PLACES`` (or ``UNKNOWN_PLACE``), column, row. ``bounds`` is
    [2, cell]: the least and the greatest believable value. ``whole`` marks coded words and flags.
    """

    device_id: str
    index: NDArray[np.intp]
    bounds: NDArray[np.float64]
    whole: NDArray[np.bool_]
    merge: MergeRules
    unknown: tuple[str, ...]
    interval_us: int
    waiting: list[tuple[int, ReadingFrame]] = field(default_factory=list)
    newest_us: int = NEVER_US

    @property
    def size(self) -> int:
        """How many cells a frame has."""
        return self.whole.size


def resolve(layout: Layout, device_id: str, tables: LiveTables, holders: Mapping[str, str]) -> ResolvedLayout:
    """The layout as index arrays. Only cells of things that the device itself holds are known."""
    cells: list[tuple[int, int, int]] = []
    fields: list[Field | None] = []
    for address, name in layout.cells:
        place = parse_address(address).place if holders.get(address) == device_id else None
        known = None if place is None else reading(place, name)
        if place is None or known is None or known.plane is Plane.EXACT:
            cells.append((UNKNOWN_PLACE, 0, 0))
            fields.append(None)
        else:
            cells.append((PLACES.index(place), tables[place].column_of[name], tables[place].append(address)))
            fields.append(known)
    return ResolvedLayout(
        device_id=device_id,
        index=np.array(cells, dtype=np.intp).reshape(-1, 3).T.copy(),
        bounds=np.array([_bounds(each) for each in fields]).reshape(-1, 2).T.copy(),
        whole=np.array([each is not None and each.plane is Plane.UINT8 for each in fields], dtype=np.bool_),
        merge=merge_rules_of(fields),
        unknown=tuple(f"{a} {n}" for (a, n), known in zip(layout.cells, fields, strict=True) if known is None),
        interval_us=layout.interval_ms * 1_000,
    )


def _bounds(known: Field | None) -> tuple[float, float]:
    if known is None:
        return -np.inf, np.inf
    if known.choices:
        return 0.0, float(len(known.choices) - 1)
    if known.minimum is None or known.maximum is None:
        return 0.0, 1.0
    return known.minimum, known.maximum
