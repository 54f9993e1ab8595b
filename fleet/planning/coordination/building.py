"""Whole plans built carrier by carrier: the group that has least room is next, each where it leaves most room."""

from __future__ import annotations

from collections.abc import Iterable
from math import log

import numpy as np

from fleet.planning.coordination.ground import Ground, Points
from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.starts import Block

# So many places are tried for each carrier of a plan, and fewer of one with many carriers.
TRIED = 10
TRIES_OF_A_PLAN = 400


def wanted(request: Request, group: int) -> int:
    """How many carriers of a group are to be placed, spares among them."""
    return request.group[group].count + request.group[group].spares


def built(
    ground: Ground, luck: np.random.Generator, started: Iterable[Carrier] = (), block: Block | None = None
) -> Ground:
    """One whole plan: what it was started with as far as that fits, a block if there is one, then everybody else.

    Spares come last.
    """
    for carrier in started:
        if ground.is_free(carrier):
            ground.add(carrier)
    if block is not None:
        _lay(ground, block)
    for spares in (False, True):
        ground = _fill(ground, luck, spares=spares)
    return ground


def _lay(ground: Ground, block: Block) -> None:
    """Those who bear equal spacing onto the steps of a block, each group at the first that are free for it."""
    for group, missing in _missing(ground, spares=False).items():
        for _ in range(missing if group in block.groups else 0):
            free = np.setdiff1d(ground.free(group), ground.unshared(group), assume_unique=True)
            on_steps = free[(free - block.first) % block.step == 0]
            if not len(on_steps):
                break
            ground.add(Carrier(group, int(on_steps[-1] if block.from_the_top else on_steps[0])))


def _fill(ground: Ground, luck: np.random.Generator, *, spares: bool) -> Ground:
    """Add who is missing as long as anybody has a place."""
    full = set[int]()
    while missing := {group: more for group, more in _missing(ground, spares=spares).items() if group not in full}:
        group = min(missing, key=lambda each: (ground.room_left(each) / missing[each], each))
        free = ground.free(group)
        if len(free):
            ground = _with_one_more(ground, group, free, luck)
        else:
            full.add(group)
    return ground


def _missing(ground: Ground, *, spares: bool) -> dict[int, int]:
    """How many of each group have no place yet; groups that are whole are left out."""
    request = ground.request
    placed = [0] * len(request.group)
    for carrier in ground.carriers:
        placed[carrier.group] += 1
    counts = [wanted(request, each) if spares else request.group[each].count for each in range(len(placed))]
    return {group: count - placed[group] for group, count in enumerate(counts) if count > placed[group]}


def _with_one_more(ground: Ground, group: int, free: Points, luck: np.random.Generator) -> Ground:
    """The ground with one more carrier, where it leaves most room, counted in shares, for all that are missing."""
    tries = max(1, min(TRIED, len(free), TRIES_OF_A_PLAN // (ground.request.asked + 1)))
    drawn = sorted(int(each) for each in luck.choice(free, tries, replace=False))
    if len(drawn) == 1:
        ground.add(Carrier(group, drawn[0]))
        return ground
    best: tuple[float, Ground] | None = None
    for point in drawn:
        twin = ground.copy()
        twin.add(Carrier(group, point))
        missing = _missing(twin, spares=True)
        room = sum(more * log(1 + twin.room_left(each)) for each, more in missing.items())
        if best is None or room > best[0]:
            best = (room, twin)
    return ground if best is None else best[1]
