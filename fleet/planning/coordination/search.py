"""The search for a plan: anytime, its score never falling, the same for the same seed and steps.

Where everybody hears everybody and needs the same, one room is packed. Elsewhere a step makes one whole plan: from an
equally spaced block of those that bear it, or from the plan at hand less some of its carriers. The plan at hand goes on
from each that is as good; the best is kept beside it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleet.planning.coordination.building import built, wanted
from fleet.planning.coordination.found import Asked, Found, Told, never
from fleet.planning.coordination.ground import Ground
from fleet.planning.coordination.one_room import dealt, packing_of
from fleet.planning.coordination.packing import Best as Packed
from fleet.planning.coordination.packing import Packing, pack
from fleet.planning.coordination.plan import Carrier, margins, standing
from fleet.planning.coordination.request import Aim, Request
from fleet.planning.coordination.starts import block_starts

# A step takes away so many carriers at the most, and every so many steps begin afresh.
TAKEN_MAXIMUM = 6
TAKEN_SHARE = 8
AFRESH_EVERY = 16
STEPS_OF_A_START = 200


def search(
    request: Request, seed: int, should_stop: Asked, on_better: Told = never, start: tuple[Carrier, ...] = ()
) -> Found:
    """Search until it is told to stop, which it asks after each step; what was best is the answer.

    It goes on from a plan to ``start`` with, as far as that keeps the rules.
    """
    return _Search(request, seed, on_better, start).run(should_stop)


def found_of(request: Request, placed: tuple[Carrier, ...], steps: int) -> Found:
    """What carriers come to: of each group as many as asked, those with the least margins beyond that its spares."""
    least: dict[Carrier, int] = {}
    found = margins(request, placed)
    for each in found:
        carrier = Carrier(each.group, each.frequency_hz // request.raster_hz)
        least[carrier] = min(each.margin_hz, least.get(carrier, each.margin_hz))
    kept = set(standing(request))
    carriers: list[Carrier] = []
    spares: list[Carrier] = []
    for number, group in enumerate(request.group):
        own = [each for each in placed if each.group == number]
        own.sort(key=lambda each: (each not in kept, -least.get(each, 1 << 62), each.point))
        carriers += own[: group.count]
        spares += own[group.count :]
    spares.sort(key=lambda each: (-least.get(each, 1 << 62), each))
    asked, spares_asked = request.asked, sum(group.spares for group in request.group)
    worst_hz = min((each.margin_hz for each in found), default=None)
    return Found(tuple(sorted(carriers)), asked, worst_hz, steps, tuple(spares), spares_asked)


class _Search:
    def __init__(self, request: Request, seed: int, on_better: Told, start: tuple[Carrier, ...]) -> None:
        self._request = request
        self._seed = seed
        self._luck = np.random.default_rng(seed)
        self._on_better = on_better
        self._standing = standing(request)
        self._blocks = block_starts(request)
        self._ground = self._empty(0)
        for carrier in start:
            if carrier not in self._standing and self._ground.is_free(carrier):
                self._ground.add(carrier)
        self._best = found_of(request, tuple(self._ground.carriers), 0)

    def run(self, should_stop: Asked) -> Found:
        packing = packing_of(self._request)
        if packing is not None:
            self._pack(packing, should_stop)
            if not self._best.all_placed and not self._request.protected:
                return self._best
        while not should_stop(self._best):
            self._best = replace(self._best, steps=self._best.steps + 1)
            if not self._best.all_placed:
                self._take(self._next_plan())
            elif self._request.aim is Aim.MARGIN and self._best.worst_margin_hz is not None:
                self._better_margin(self._best.worst_margin_hz)
            else:
                break
        return self._best

    def _pack(self, packing: Packing, should_stop: Asked) -> None:
        """Pack one room until all are placed, none holds more, or it is told to stop.

        With somebody else's carriers in it the packing asks for more than the request: then it is but a start.
        """
        strangers = bool(self._request.protected)

        def told(best: Packed) -> bool:
            self._best = replace(self._best, steps=best.steps, at_most=None if strangers else best.at_most)
            over = strangers and best.steps >= STEPS_OF_A_START
            return over or self._best.all_placed or should_stop(self._best)

        def better(best: Packed) -> None:
            found = found_of(self._request, dealt(self._request, best.carriers), best.steps)
            self._keep(replace(found, at_most=self._best.at_most))

        told(pack(packing, self._seed, told, better))
        self._ground = self._empty(0)
        for carrier in (*self._best.carriers, *self._best.spares):
            if carrier not in self._standing:
                self._ground.add(carrier)

    def _keep(self, found: Found) -> None:
        """Keep what is better. The margins are the judge: a plan that falls short of a rule is none."""
        if found.worst_margin_hz is not None and found.worst_margin_hz < 0:
            return
        if found.score > self._best.score:
            self._best = found
            self._on_better(found)

    def _next_plan(self) -> Ground:
        block = next(self._blocks, None)
        if block is not None:
            return built(self._empty(0), self._luck, block=block)
        if self._best.steps % AFRESH_EVERY == 0:
            return built(self._empty(0), self._luck)
        ground = self._ground.copy()
        ground.remove(self._some_of(ground.carriers))
        return built(ground, self._luck)

    def _some_of(self, carriers: list[Carrier]) -> list[Carrier]:
        """A few carriers drawn by luck, in a large plan a share of it; those that stand stay."""
        kept = set(self._standing)
        movable = [each for each in carriers if each not in kept]
        if not movable:
            return []
        most = max(TAKEN_MAXIMUM, len(movable) // TAKEN_SHARE)
        taken = min(len(movable), int(self._luck.integers(1, most + 1)))
        return [movable[int(index)] for index in self._luck.choice(len(movable), taken, replace=False)]

    def _take(self, ground: Ground) -> None:
        """Go on from a plan that is as good as the one at hand, and keep it where it is the best."""
        if len(ground.carriers) >= len(self._ground.carriers):
            self._ground = ground
        placed = len(self._best.carriers) + len(self._best.spares)
        if len(ground.carriers) <= placed and not self._best.all_placed:
            return  # As many, and not everybody: which margins they keep would cost more than it tells.
        found = found_of(self._request, tuple(ground.carriers), self._best.steps)
        self._keep(replace(found, at_most=self._best.at_most))

    def _better_margin(self, margin_hz: int) -> None:
        """A whole plan that keeps a step more everywhere, started from the best less a few."""
        ground = self._empty(margin_hz // self._request.raster_hz + 1)
        placed = [*self._best.carriers, *self._best.spares]
        gone = set(self._some_of(placed))
        made = built(ground, self._luck, [each for each in placed if each not in gone and each not in self._standing])
        if len(made.carriers) == sum(wanted(self._request, each) for each in range(len(self._request.group))):
            self._take(made)

    def _empty(self, extra: int) -> Ground:
        ground = Ground(self._request, extra)
        for carrier in self._standing:
            ground.add(carrier)
        return ground
