"""Starts for a search that luck alone would hardly find: blocks of equal spacing.

Of n carriers equally spaced all products of the third order lie on the same steps and reach n - 1 of them beyond either
end: between the steps, and further out, the room is clear of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fleet.planning.coordination.request import Request, points_of


@dataclass(frozen=True, slots=True)
class Block:
    """Steps from a first raster point on, for groups that bear equal spacing, filled from one end of the room."""

    groups: frozenset[int]
    first: int
    step: int
    from_the_top: bool


def block_starts(request: Request) -> Iterator[Block]:
    """Blocks for those that bear equal spacing, where others need their products kept off: at both ends of windows."""
    bearing = frozenset(
        number for number, group in enumerate(request.group) if not request.profile_of(group).has_guards
    )
    if not bearing or len(bearing) == len(request.group):
        return
    widest_hz = max(request.profile_of(request.group[number]).spacing_hz for number in bearing)
    step = -(-widest_hz // request.raster_hz)
    for window in request.window:
        points = points_of(request, window)
        if points:
            yield Block(bearing, points[0], step, from_the_top=False)
            yield Block(bearing, points[-1], step, from_the_top=True)
