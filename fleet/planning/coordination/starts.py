"""Starts for a search that luck alone would hardly find: blocks of equal spacing."""

from __future__ import annotations

from collections.abc import Iterator

from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.request import Request, Window, points_of


def block_starts(request: Request) -> Iterator[tuple[Carrier, ...]]:
    """Those that bear equal spacing in a block at an end of a window, where others need their products kept off.

    Of n carriers equally spaced the products lie on the same steps and reach n - 1 of them beyond either end: the rest
    of the room is clear of them.
    """
    bears = [not request.profile_of(group).has_guards for group in request.group]
    if all(bears) or not any(bears):
        return
    for window in request.window:
        for from_the_top in (False, True):
            yield tuple(_block(request, window, bears, from_the_top=from_the_top))


def _block(request: Request, window: Window, bears: list[bool], *, from_the_top: bool) -> Iterator[Carrier]:
    points = points_of(request, window)
    if not points:
        return
    wide = max(request.profile_of(g).spacing_hz for g, free in zip(request.group, bears, strict=True) if free)
    step = -(-wide // request.raster_hz)
    places = iter(points[::-step] if from_the_top else points[::step])
    for number, group in enumerate(request.group):
        for _ in range(group.count if bears[number] else 0):
            place = next(places, None)
            if place is None:
                return
            yield Carrier(number, place)
