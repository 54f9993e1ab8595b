"""Starts for requests that come to one room: all groups alike, everybody hearing everybody.

There the fast search for one room finds what carrier by carrier would hardly be found. Its packings are dealt to the
groups in their order.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from fleet.planning.coordination.allowed import allowed_points, span_of
from fleet.planning.coordination.bits import bits_of_flags, widened
from fleet.planning.coordination.packing import Packing, packings
from fleet.planning.coordination.plan import Carrier, standing, strangers_of
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.rooms import parties_of, rooms_of, spacing_between

SEED = 1
STEPS_OF_A_START = 50
"""So many steps are taken for one start, or fewer, where a packing is better than the last."""
STARTS_MAXIMUM = 100


def ruler_starts(request: Request) -> Iterator[tuple[Carrier, ...]]:
    """Better and better starts for a request of one room with guards; none for any other."""
    problem = one_room(request)
    if problem is None:
        return
    first, kept, most = span_of(request).start, {each.point for each in standing(request)}, 0
    found = packings(problem, SEED)
    for _ in range(STARTS_MAXIMUM):
        best = None
        for best in islice(found, STEPS_OF_A_START):
            if len(best.carriers) > most:
                break
        if best is None:
            return
        most = len(best.carriers)
        strangers = {each.point for each in strangers_of(request)} - kept
        points = [first + each for each in best.carriers if first + each not in kept | strangers]
        yield _dealt(request, points)


def one_room(request: Request) -> Packing | None:
    """A request as the packing of one room, its points counted from the request's lowest; None where it is none.

    Somebody else's carriers count as if they needed what ours do: that is more than is asked, never less.
    """
    parties, ours = parties_of(request), range(len(request.group))
    rooms, needs, span = rooms_of(request, parties), parties[0].needs, span_of(request)
    alike = all(parties[each].needs == needs and parties[each].kind == parties[0].kind for each in ours)
    if not alike or not (needs.two or needs.three or needs.fifth) or needs.weight_maximum is not None:
        return None
    if len(rooms) != 1 or not rooms[0].victims.issuperset(ours):
        return None
    allowed = {bits_of_flags(allowed_points(request, group, span)) for group in request.group}
    if len(allowed) != 1:
        return None
    (points,), strangers = allowed, strangers_of(request)
    for each in strangers:
        points &= ~widened(1 << each.point - span.start, spacing_between(parties, 0, each.group))
    fixed = {each.point - span.start for each in (*standing(request), *strangers)}
    wanted = sum(group.count + group.spares for group in request.group) + len(fixed) - len(standing(request))
    return Packing(points, needs.spacing, needs.two, needs.three, wanted, needs.fifth, tuple(sorted(fixed)))


def _dealt(request: Request, points: list[int]) -> tuple[Carrier, ...]:
    """Points given to the groups in turn: to each as many as it asks for beside those that stand, spares last."""
    counts = [group.count - len(group.fixed_hz) - len(group.locked_hz) for group in request.group]
    groups = [index for index, count in enumerate(counts) for _ in range(count)]
    groups += [index for index, group in enumerate(request.group) for _ in range(group.spares)]
    return tuple(Carrier(group, point) for group, point in zip(groups, points, strict=False))
