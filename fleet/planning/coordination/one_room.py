"""Requests that come to packing one room: everybody hears everybody, needs the same and may stand anywhere."""

from __future__ import annotations

from fleet.planning.coordination.allowed import allowed_points, span_of
from fleet.planning.coordination.bits import bits_of_flags, widened
from fleet.planning.coordination.packing import Packing
from fleet.planning.coordination.plan import Carrier, standing, strangers_of
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.rooms import parties_of, rooms_of, spacing_between


def packing_of(request: Request) -> Packing | None:
    """A request as the packing of one room; its points count from the span's first. None where it is more than that.

    Somebody else's carriers count as if they needed what ours do: that is more than is asked, never less.
    """
    parties, span, ours = parties_of(request), span_of(request), range(len(request.group))
    rooms, needs = rooms_of(request, parties), parties[0].needs
    alike = len({(parties[each].kind, parties[each].needs) for each in ours}) == 1
    if not alike or needs.weight_maximum is not None or len(rooms) != 1 or not rooms[0].victims.issuperset(ours):
        return None
    allowed = {bits_of_flags(allowed_points(request, group, span)) for group in request.group}
    if len(allowed) != 1:
        return None
    points, strangers, kept = allowed.pop(), strangers_of(request), standing(request)
    for each in strangers:
        at, spacing = each.point - span.start, spacing_between(parties, 0, each.group)
        points &= ~(widened(1 << at + spacing, spacing) >> spacing)
    fixed = {each.point - span.start for each in (*kept, *strangers)}
    asked = request.asked + sum(group.spares for group in request.group) + len(fixed) - len(kept)
    return Packing(points, needs.spacing, needs.two, needs.three, asked, needs.fifth, tuple(sorted(fixed)))


def dealt(request: Request, points: tuple[int, ...]) -> tuple[Carrier, ...]:
    """Points of a packing, counted from the span's first, given to the groups in turn; what stands keeps its group."""
    first, kept = span_of(request).start, standing(request)
    taken = {carrier.point for carrier in (*kept, *strangers_of(request))}
    free = [point + first for point in points if point + first not in taken]
    missing = [
        [number] * (group.count - sum(1 for each in kept if each.group == number))
        for number, group in enumerate(request.group)
    ]
    missing += [[number] * group.spares for number, group in enumerate(request.group)]
    groups = [number for numbers in missing for number in numbers]
    return (*kept, *(Carrier(group, point) for group, point in zip(groups, free, strict=False)))
