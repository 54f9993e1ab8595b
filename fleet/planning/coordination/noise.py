"""Products counted as noise while a plan grows: for parties that ask for a carrier-to-interference.

Weights are whole numbers: a product 2A - B counts one, A + B - C four. What falls less than half a spacing from a
carrier counts on it. Exact in both directions, like what blocks.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.planning.coordination.plan import THREE_SIGNAL_WEIGHT, half_spacing
from fleet.planning.coordination.rooms import Party, Room

Weights = NDArray[np.int64]


class NoiseState:
    """What a room's carriers put on each point; points count from 0 and lie below ``size``."""

    def __init__(self, room: Room, parties: tuple[Party, ...], size: int) -> None:
        self._parties = parties
        self._size = size
        self._points: list[int] = []
        self._victims: list[tuple[int, int]] = []
        self._products = np.zeros(size, dtype=np.int64)
        self.asking = {each for each in room.victims if parties[each].needs.weight_maximum is not None}

    def copy(self) -> NoiseState:
        """A state that goes its own way from here."""
        twin = object.__new__(NoiseState)
        twin._parties, twin._size, twin.asking = self._parties, self._size, self.asking
        twin._points, twin._victims = list(self._points), list(self._victims)
        twin._products = self._products.copy()
        return twin

    def add(self, party: int, point: int) -> None:
        """Let a carrier stand."""
        if not self.asking:
            return
        self._add_products(point)
        self._points.append(point)
        if party in self.asking:
            self._victims.append((party, point))

    def free(self, party: int) -> NDArray[np.bool_]:
        """For each point whether a carrier of a party there has its ratio, and leaves theirs to those that stand."""
        found = np.ones(self._size, dtype=np.bool_)
        sums, apart, once = self._sums(), self._differences(), self._once()
        for victim, at in self._victims:
            half, maximum = self._needs(victim)
            standing = int(self._products[max(0, at - half + 1) : at + half].sum())
            found &= standing + self._added_on(at, half, (sums, apart, once)) <= maximum
        if party in self.asking:
            half, maximum = self._needs(party)
            found &= self._on_a_new_one(half, (sums, apart)) <= maximum
        return found

    def _needs(self, party: int) -> tuple[int, int]:
        needs = self._parties[party].needs
        return half_spacing(needs), needs.weight_maximum or 0

    def _add_products(self, x: int) -> None:
        """Everything that a new point makes with those that stand: 2x - A, 2A - x, x + A - B, A + B - x."""
        if not self._points:
            return
        a = np.array(self._points, dtype=np.int64)
        low, high = np.triu_indices(len(a), 1)
        self._count(np.concatenate([2 * x - a, 2 * a - x]), 1)
        three = [x + a[low] - a[high], x + a[high] - a[low], a[low] + a[high] - x]
        self._count(np.concatenate(three), THREE_SIGNAL_WEIGHT)

    def _count(self, places: Weights, weight: int) -> None:
        inside = places[(places >= 0) & (places < self._size)]
        self._products += weight * np.bincount(inside, minlength=self._size)

    def _once(self) -> Weights:
        return np.bincount(np.array(self._points, dtype=np.int64), minlength=self._size)

    def _sums(self) -> Weights:
        """How much falls on s - y from a maker at y: four for each A + B = s, one for each 2A = s [2 size]."""
        a = np.array(self._points, dtype=np.int64)
        low, high = np.triu_indices(len(a), 1)
        found = THREE_SIGNAL_WEIGHT * np.bincount(a[low] + a[high], minlength=2 * self._size)
        return np.asarray(found + np.bincount(2 * a, minlength=2 * self._size))

    def _differences(self) -> Weights:
        """Four for each A - B = d, from d = - size up [2 size]."""
        a = np.array(self._points, dtype=np.int64)
        low, high = np.triu_indices(len(a), 1)
        apart = np.concatenate([a[low] - a[high], a[high] - a[low]]) + self._size
        return THREE_SIGNAL_WEIGHT * np.bincount(apart, minlength=2 * self._size)

    def _added_on(self, at: int, half: int, made: tuple[Weights, Weights, Weights]) -> Weights:
        """What a maker at each point would add on a victim: A + B - y and 2A - y, y + A - B, 2y - A."""
        sums, apart, once = made
        size = self._size
        near_sums = _window(sums, half)[at : at + size]
        near_apart = _window(apart, half)[at + size - np.arange(size)]
        doubled = 2 * np.arange(size) - at
        inside = (doubled >= 0) & (doubled < size)
        near_once = np.zeros(size, dtype=np.int64)
        near_once[inside] = _window(once, half)[doubled[inside]]
        return np.asarray(near_sums + near_apart + near_once)

    def _on_a_new_one(self, half: int, made: tuple[Weights, Weights]) -> Weights:
        """What would fall on a victim at each point, of those that stand and of what it makes itself."""
        sums, apart = made
        size = self._size
        own = _window(sums, half)[2 * np.arange(size)]  # A + B - y and 2A - y on y.
        beside = int(apart[max(0, size - half + 1) : size + half].sum())  # y + A - B on y wherever that is.
        return np.asarray(_window(self._products, half) + own + beside)


def _window(weights: Weights, half: int) -> Weights:
    """For each place the sum of what is less than ``half`` from it."""
    sums = np.concatenate([[0], np.cumsum(weights)])
    places = np.arange(len(weights))
    low, high = np.maximum(places - half + 1, 0), np.minimum(places + half, len(weights))
    return np.asarray(sums[high] - sums[low])
