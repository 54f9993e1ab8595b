"""Sets of algebra laid onto the raster points of one room, in units of the widest guard.

The room is folded: raster points that are the same modulo the set's modulus, in units, can take one another's place,
for it is enough that differences differ modulo the modulus. So holes cost little where the room is longer than the set.
Every multiple, every turn and every phase of the unit on the raster is tried in the end, the likeliest sets first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import log

import numpy as np
from numpy.typing import NDArray

from fleet.planning.coordination.difference_sets import DifferenceSet, bose, singer
from fleet.planning.coordination.finite_field import ELEMENTS_MAXIMUM, prime_power

FAVOURED = 1.4
"""Sets so many times as long as what is free fill it best, by trial: longer ones differ more, short ones fit whole."""
WORTH_TRYING = 3.0
"""Sets so many times longer or shorter than favoured are left out."""
LAID_MAXIMUM = 64
"""So many turns of one multiple are laid out at the most; they come fullest first."""

Make = Callable[[int], DifferenceSet]


@dataclass(frozen=True, slots=True)
class Ruler:
    """One multiple of a set for a room at one phase: byte ``i`` of ``free`` is for point ``i * unit + phase``."""

    free: bytes
    unit: int
    phase: int
    spacing: int
    marks: tuple[int, ...]
    modulus: int

    def fullest(self, than: int) -> tuple[int, ...]:
        """The points of the turn of which most marks are free and spaced; none where that is not more than ``than``."""
        counts, best = self._counts(), tuple[int, ...]()
        turns = np.flatnonzero(counts > than)
        for turn in turns[np.argsort(-counts[turns], kind="stable")][:LAID_MAXIMUM].tolist():
            if counts[turn] <= max(than, len(best)):
                break
            laid = self._laid(turn)
            if len(laid) > max(than, len(best)):
                best = laid
        return best

    def _counts(self) -> NDArray[np.int64]:
        """For each turn, how many of the marks have a free place; two that are too close count as one."""
        folds = -(-len(self.free) // self.modulus)
        padded = self.free.ljust(folds * self.modulus, b"\0")
        folded = np.frombuffer(padded, dtype=np.uint8).reshape(folds, self.modulus).max(axis=0)
        around, counts = np.concatenate([folded, folded]), np.zeros(self.modulus, dtype=np.uint16)
        for mark in self.marks:
            counts += around[mark : mark + self.modulus]
        for lower, upper in self._too_close() if folds == 1 else ():
            counts -= around[lower : lower + self.modulus] & around[upper : upper + self.modulus]
        return counts.astype(np.int64)

    def _too_close(self) -> list[tuple[int, int]]:
        """Neighbours that are not spaced, each mark in one pair at the most."""
        apart, pairs, last = -(-self.spacing // self.unit), list[tuple[int, int]](), -1
        for lower, upper in pairwise((*self.marks, self.marks[0] + self.modulus)):
            if upper - lower < apart and lower > last:
                pairs.append((lower, upper % self.modulus))
                last = upper
        return pairs

    def _laid(self, turn: int) -> tuple[int, ...]:
        """Each next mark that is free and spaced, from below; of places that fold onto one another one at the most."""
        apart, last, laid, used = -(-self.spacing // self.unit), -self.spacing, list[int](), set[int]()
        residues = sorted((mark + turn) % self.modulus for mark in self.marks)
        for fold in range(0, len(self.free), self.modulus):
            for residue in residues:
                place = fold + residue
                if place >= len(self.free):
                    break
                if self.free[place] and place - last >= apart and residue not in used:
                    laid.append(place * self.unit + self.phase)
                    used.add(residue)
                    last = place
        return tuple(laid)


def rulers(free: int, unit: int, spacing: int) -> Iterator[Ruler]:
    """All rulers for a room whose free points are the bits of ``free``, the likeliest first; ``unit`` is at least 1."""
    raw = free.to_bytes((free.bit_length() + 7) // 8, "little")
    points = np.unpackbits(np.frombuffer(raw, dtype=np.uint8), bitorder="little", count=free.bit_length() or None)
    sets = _likeliest(free.bit_count() / unit)
    for phase in range(min(unit, free.bit_length())):
        there = points[phase::unit].tobytes()
        for make, elements in sets:
            algebraic = make(elements)
            for factor in algebraic.factors():
                yield Ruler(there, unit, phase, spacing, algebraic.times(factor), algebraic.modulus)


def _likeliest(units: float) -> list[tuple[Make, int]]:
    """Makers of sets, those first whose modulus is nearest to what fills so many free units best."""
    found: list[tuple[float, Make, int]] = []
    for elements in filter(prime_power, range(2, ELEMENTS_MAXIMUM + 1)):
        for make, modulus in ((singer, elements * elements + elements + 1), (bose, elements * elements - 1)):
            found.append((abs(log(modulus / (FAVOURED * max(1.0, units)))), make, elements))
    found.sort(key=lambda each: each[0])
    return [(make, elements) for off, make, elements in found if off <= log(WORTH_TRYING)]
