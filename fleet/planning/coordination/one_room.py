"""Requests that come to packing one room: everybody hears everybody, needs the same and may stand anywhere."""

from __future__ import annotations

from fleet.planning.coordination.allowed import allowed_points, span_of
from fleet.planning.coordination.bits import bits_of_flags
from fleet.planning.coordination.packing import Packing
from fleet.planning.coordination.plan import Carrier, standing
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.rooms import parties_of, rooms_of


def packing_of(request: Request) -> Packing | None:
    """A request as the packing of one room; its points count from the span's first. None where it is more than that."""
    parties, span = parties_of(request), span_of(request)
    if len(rooms_of(request, parties)) != 1 or len({(each.kind, each.needs) for each in parties}) != 1:
        return None
    needs = parties[0].needs
    allowed = {bits_of_flags(allowed_points(request, group, span)) for group in request.group}
    if request.protected or needs.weight_maximum is not None or len(allowed) != 1:
        return None
    asked = request.asked + sum(group.spares for group in request.group)
    fixed = tuple(carrier.point - span.start for carrier in standing(request))
    return Packing(allowed.pop(), needs.spacing, needs.two, needs.three, asked, needs.fifth, fixed)


def dealt(request: Request, points: tuple[int, ...]) -> tuple[Carrier, ...]:
    """Points of a packing, counted from the span's first, given to the groups in turn; what stands keeps its group."""
    first, kept = span_of(request).start, standing(request)
    taken = {carrier.point for carrier in kept}
    free = [point + first for point in points if point + first not in taken]
    missing = [
        [number] * (group.count - sum(1 for each in kept if each.group == number))
        for number, group in enumerate(request.group)
    ]
    missing += [[number] * group.spares for number, group in enumerate(request.group)]
    groups = [number for numbers in missing for number in numbers]
    return (*kept, *(Carrier(group, point) for group, point in zip(groups, free, strict=False)))
