"""The ground of a search: which raster points are still free for a carrier of each group, given those that stand.

Blocking is exact: a point is free when a carrier there would break no rule, neither on itself nor on those that stand.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.physics.intermodulation import Family
from fleet.planning.coordination.plan import Carrier, guards_hz
from fleet.planning.coordination.request import Group, Request, points_of

Points = NDArray[np.int64]


class Ground:
    """Raster points from the first window's start to the last one's end; changed only by ``add``."""

    def __init__(self, request: Request) -> None:
        spans = [points_of(request, window) for window in request.window]
        self.first = min(span.start for span in spans)
        self.size = max(span.stop for span in spans) - self.first
        self.request = request
        self.carriers: list[Carrier] = []
        allowed = np.zeros(self.size, dtype=np.bool_)
        for span in spans:
            allowed[span.start - self.first : span.stop - self.first] = True
        for window in request.exclusion:
            span = points_of(request, window)
            allowed[max(0, span.start - self.first) : max(0, span.stop - self.first)] = False
        self._rules = [_Rules(request, group) for group in request.group]
        self._free = [allowed.copy() for _ in request.group]

    def copy(self) -> Ground:
        """A ground that goes its own way from here."""
        twin = object.__new__(Ground)
        twin.first, twin.size, twin.request = self.first, self.size, self.request
        twin.carriers = list(self.carriers)
        twin._rules = self._rules
        twin._free = [free.copy() for free in self._free]
        return twin

    def free(self, group: int) -> Points:
        """The points where one more carrier of a group breaks no rule."""
        return np.asarray(np.flatnonzero(self._free[group]) + self.first)

    def add(self, carrier: Carrier) -> None:
        """Let a carrier stand, and block what it blocks for everybody."""
        for group in range(len(self._rules)):
            edges = np.zeros(self.size + 1, dtype=np.int64)
            if self._hears(group, carrier.group):
                self._keep_off(edges, group, carrier)
            for victim in (*self.carriers, carrier):
                if self._hears(victim.group, group):
                    self._protect(edges, victim, carrier)
            self._free[group] &= np.cumsum(edges[:-1]) == 0
        self.carriers.append(carrier)

    def _hears(self, group: int, other: int) -> bool:
        return self.request.hears(self.request.group[group].zone, self.request.group[other].zone)

    def _heard_by(self, group: int) -> Points:
        return np.array([each.point for each in self.carriers if self._hears(group, each.group)], dtype=np.int64)

    def _keep_off(self, edges: Points, group: int, new: Carrier) -> None:
        """Block what a carrier of the group would suffer: the new one's neighbourhood, and the products it makes."""
        own, x, standing = self._rules[group], new.point, self._heard_by(group)
        two, three, fifth = (own.guard(f) for f in (Family.THIRD_TWO, Family.THIRD_THREE, Family.FIFTH_TWO))
        # Beside the spacing: 2y - A and 3y - 2A would fall on y itself.
        beside = max(own.spacing, self._rules[new.group].spacing, two, -(-fifth // 2))
        _mark(edges, np.array([x - self.first]), beside)
        _mark_parts(edges, x + standing, (2, self.first), three)  # A + B - y falls on y.
        if three and np.any(np.abs(standing - x) < three):
            edges[0] += 1  # y + A - B would fall on y wherever that is.
        for family in (Family.THIRD_TWO, Family.THIRD_THREE, Family.FIFTH_TWO):
            if own.guard(family):
                _mark(edges, _products(standing, x, family) - self.first, own.guard(family))

    def _protect(self, edges: Points, victim: Carrier, new: Carrier) -> None:
        """Block the points y whose products with what a victim hears, the new one among it, would fall on it."""
        rules, v, x, first = self._rules[victim.group], victim.point, new.point, self.first
        is_new = victim == new
        if not (is_new or self._hears(victim.group, new.group)):
            return
        others = np.union1d(self._heard_by(victim.group), [v])  # The victim may be a maker of what falls on it.
        makers = others if is_new else np.array([x])
        two, three, fifth = (rules.guard(f) for f in (Family.THIRD_TWO, Family.THIRD_THREE, Family.FIFTH_TWO))
        _mark(edges, 2 * makers - v - first, two)  # 2A - y falls on v.
        _mark_parts(edges, makers + v, (2, first), two)  # 2y - A.
        if three:
            rest = others[others != x]
            a, b = _pairs(others) if is_new else (np.full(len(rest), x), rest)
            _mark(edges, v + b - a - first, three)  # y + A - B.
            _mark(edges, v + a - b - first, three)
            _mark(edges, a + b - v - first, three)  # A + B - y falls on v where y is A + B - v.
        _mark_parts(edges, v + 2 * makers, (3, first), fifth)  # 3y - 2A.
        _mark_parts(edges, 3 * makers - v, (2, first), fifth)  # 3A - 2y.


class _Rules:
    """What carriers of a group need, in raster steps."""

    def __init__(self, request: Request, group: Group) -> None:
        profile = request.profile_of(group)
        self.spacing = -(-profile.spacing_hz // request.raster_hz)
        self._guards = {family: -(-hz // request.raster_hz) for family, hz in guards_hz(profile).items()}

    def guard(self, family: Family) -> int:
        """How many steps products of a family keep off; 0 when it is switched off."""
        return self._guards.get(family, 0)


def _products(standing: Points, x: int, family: Family) -> Points:
    """Products that carriers that stand make with a new one."""
    match family:
        case Family.THIRD_TWO:
            return np.concatenate([2 * standing - x, 2 * x - standing])
        case Family.FIFTH_TWO:
            return np.concatenate([3 * standing - 2 * x, 3 * x - 2 * standing])
        case _:
            a, b = _pairs(standing)
            return np.concatenate([x + a - b, x + b - a, a + b - x])


def _pairs(points: Points) -> tuple[Points, Points]:
    """Each pair of different carriers once."""
    low, high = np.triu_indices(len(points), 1)
    return points[low], points[high]


def _mark(edges: Points, places: Points, guard: int) -> None:
    """Mark everything less than a guard from each place."""
    if guard <= 0 or not len(places):
        return
    low = np.clip(places - guard + 1, 0, len(edges) - 1)
    high = np.clip(places + guard, 0, len(edges) - 1)
    np.add.at(edges, low, 1)
    np.add.at(edges, high, -1)


def _mark_parts(edges: Points, sums: Points, part: tuple[int, int], guard: int) -> None:
    """Mark the points y, counted from a first one, whose multiple is less than a guard from one of the sums."""
    if guard <= 0 or not len(sums):
        return
    times, first = part
    low = np.clip(-((guard - 1 - sums) // times) - first, 0, len(edges) - 1)
    high = np.clip((sums + guard - 1) // times + 1 - first, 0, len(edges) - 1)
    np.add.at(edges, low, 1)
    np.add.at(edges, np.maximum(high, low), -1)
