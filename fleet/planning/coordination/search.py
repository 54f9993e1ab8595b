"""The search for a plan: anytime, its score never falling, the same for the same seed and steps.

A step builds one whole plan, carrier by carrier, each where it leaves most room of some places drawn by luck: from an
algebraic set, from the best plan less a few carriers, or from nothing. What is best so far is kept: first by how many
stand, then by the margin.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fleet.planning.coordination.constructions import ruler_starts
from fleet.planning.coordination.ground import Ground
from fleet.planning.coordination.plan import Carrier, check
from fleet.planning.coordination.request import Request

# So many places are tried for each carrier of a plan.
TRIED = 10
# A step takes away so many carriers of the best plan at the most, and every so many steps begin afresh.
TAKEN_MAXIMUM = 6
AFRESH_EVERY = 4


@dataclass(frozen=True, slots=True)
class Found:
    """The best plan so far, after so many steps. ``complete`` says that every carrier asked for stands."""

    carriers: tuple[Carrier, ...]
    asked: int
    worst_margin_hz: int | None
    steps: int

    @property
    def complete(self) -> bool:
        """Whether there is a place for everybody."""
        return len(self.carriers) == self.asked

    @property
    def score(self) -> tuple[int, int]:
        """What never falls: how many stand, then the margin."""
        return len(self.carriers), -(1 << 62) if self.worst_margin_hz is None else self.worst_margin_hz


Told = Callable[[Found], None]


def search(
    request: Request, seed: int, should_stop: Callable[[Found], bool], on_better: Told = lambda _: None
) -> Found:
    """Search until it is told to stop, which it asks after each step; what was best is the answer."""
    luck = np.random.default_rng(seed)
    ground = Ground(request)
    for index, group in enumerate(request.group):
        for frequency_hz in group.fixed_hz:
            ground.add(Carrier(index, frequency_hz // request.raster_hz))
    asked = sum(group.count for group in request.group)
    best, steps = _found(request, ground, asked, 0), 0
    starts = ruler_starts(request) if not ground.carriers else iter(())
    while not should_stop(best):
        steps += 1
        started = next(starts, None) or _thinned(best, ground, luck, steps)
        built = _built(ground.copy(), luck, started)
        found = _found(request, built, asked, steps)
        better = found.score > best.score
        best = found if better else Found(best.carriers, asked, best.worst_margin_hz, steps)
        if better:
            on_better(best)
    return best


def _thinned(best: Found, ground: Ground, luck: np.random.Generator, steps: int) -> tuple[Carrier, ...]:
    """The best plan so far less a few of its carriers, drawn by luck; every fourth step begins from nothing."""
    movable = [each for each in best.carriers if each not in ground.carriers]
    if steps % AFRESH_EVERY == 0 or not movable:
        return ()
    taken = luck.choice(len(movable), min(len(movable), int(luck.integers(1, TAKEN_MAXIMUM + 1))), replace=False)
    return tuple(each for index, each in enumerate(movable) if index not in taken)


def _found(request: Request, ground: Ground, asked: int, steps: int) -> Found:
    carriers = tuple(sorted(ground.carriers))
    return Found(carriers, asked, check(request, carriers).worst_margin_hz, steps)


def _built(ground: Ground, luck: np.random.Generator, started: tuple[Carrier, ...]) -> Ground:
    """One whole plan: what it was started with as far as that fits, then everybody else."""
    for carrier in started:
        if carrier.point in ground.free(carrier.group):
            ground.add(carrier)
    for group in _in_order(ground.request):
        while _missing(ground, group) > 0:
            free = ground.free(group)
            if not len(free):
                break
            ground = _with_one_more(ground, group, luck)
    return ground


def _in_order(request: Request) -> list[int]:
    """Those that need most room first: with guards before those without, wide before narrow."""
    profiles = [request.profile_of(group) for group in request.group]
    needs = [(each.third_three_signal_hz + each.third_two_signal_hz, each.spacing_hz) for each in profiles]
    return sorted(range(len(needs)), key=lambda index: needs[index], reverse=True)


def _missing(ground: Ground, group: int) -> int:
    return ground.request.group[group].count - sum(1 for each in ground.carriers if each.group == group)


def _with_one_more(ground: Ground, group: int, luck: np.random.Generator) -> Ground:
    """The ground with one more carrier, at that of some free places that leaves most room for all that are missing."""
    free = ground.free(group)
    tried = luck.choice(free, min(TRIED, len(free)), replace=False)
    best: tuple[int, Ground] | None = None
    for point in sorted(int(each) for each in tried):
        twin = ground.copy()
        twin.add(Carrier(group, point))
        room = sum(len(twin.free(each)) for each in range(len(ground.request.group)) if _missing(twin, each) > 0)
        if best is None or room > best[0]:
            best = (room, twin)
    if best is None:
        raise AssertionError("a free place was there")
    return best[1]
