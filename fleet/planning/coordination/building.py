"""Whole plans built carrier by carrier: each where it leaves most room, of some places drawn by luck."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from fleet.planning.coordination.ground import Ground
from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.request import Request

# So many places are tried for each carrier of a plan, and fewer of one with many carriers.
TRIED = 10
TRIES_OF_A_PLAN = 400


def wanted(request: Request, group: int) -> int:
    """How many carriers of a group are to be placed, spares among them."""
    return request.group[group].count + request.group[group].spares


def built(ground: Ground, luck: np.random.Generator, started: Iterable[Carrier] = ()) -> Ground:
    """One whole plan: what it was started with as far as that fits, then everybody else, spares last."""
    for carrier in started:
        if ground.is_free(carrier):
            ground.add(carrier)
    request = ground.request
    for spares in (False, True):
        for group in _in_order(request):
            most = wanted(request, group) if spares else request.group[group].count
            for _ in range(most - _placed(ground, group)):
                free = ground.free(group)
                if not len(free):
                    break
                ground = _with_one_more(ground, group, free, luck)
    return ground


def _in_order(request: Request) -> list[int]:
    """Those that need most room first: with guards before those without, wide before narrow."""
    profiles = [request.profile_of(group) for group in request.group]
    needs = [
        (each.third_three_signal_hz + each.third_two_signal_hz + each.fifth_two_signal_hz, each.spacing_hz)
        for each in profiles
    ]
    return sorted(range(len(needs)), key=lambda index: needs[index], reverse=True)


def _placed(ground: Ground, group: int) -> int:
    return sum(1 for each in ground.carriers if each.group == group)


def _with_one_more(ground: Ground, group: int, free: np.ndarray, luck: np.random.Generator) -> Ground:
    """The ground with one more carrier, where it leaves most room for all that are missing."""
    request = ground.request
    tries = max(1, min(TRIED, len(free), TRIES_OF_A_PLAN // (request.asked + 1)))
    drawn = sorted(int(each) for each in luck.choice(free, tries, replace=False))
    if len(drawn) == 1:
        ground.add(Carrier(group, drawn[0]))
        return ground
    missing = [each for each in range(len(request.group)) if _placed(ground, each) < wanted(request, each)]
    best: tuple[int, Ground] | None = None
    for point in drawn:
        twin = ground.copy()
        twin.add(Carrier(group, point))
        room = sum(twin.room_left(each) for each in missing)
        if best is None or room > best[0]:
            best = (room, twin)
    return ground if best is None else best[1]
