"""Where one more carrier of a single room may stand: whole sets of raster points as the bits of one long number.

Exact: a point is vacant when a carrier there breaks no rule, neither on itself nor on those that stand. What blocks it
is the neighbourhood of each carrier; the products of those that stand; what would make the newcomer's products fall on
one of them, which is the same set; and the middles of pairs, where the newcomer is hit by what the others make of it.
A product of three signals whose victim is one of them, A + B - C on C, is a product of two signals on a third carrier:
hence the wider of the two guards between three carriers.

Taking a carrier away is exact because all differences differ wherever three-signal products are kept off, but for
those that broke the rules before anybody was added; these are never taken away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SPAN_MAXIMUM = 500_000
"""Raster points from the lowest to the highest; above it one step would take seconds."""


@dataclass(frozen=True, slots=True)
class Guards:
    """How many raster steps apart carriers are, and how far products of each family keep off; 0 switches one off."""

    spacing: int = 1
    two: int = 0
    three: int = 0
    fifth: int = 0

    @property
    def third(self) -> int:
        """How far a product of the third order keeps off where it takes three carriers, makers and victim."""
        return max(self.two, self.three)

    @property
    def beside(self) -> int:
        """How far two carriers keep apart: products of a pair fall on it, or twice as far off, or thrice."""
        return max(1, self.spacing, self.two, self.three, -(-self.fifth // 2))


class Vacancies:
    """Carriers of one room and what they leave; changed by ``add`` and ``take`` alone.

    ``allowed`` has a bit for each raster point where a carrier may stand. Points may be any integers from ``lowest``
    to ``highest``: bits of what is kept here count from ``lowest``.
    """

    def __init__(self, allowed: int, guards: Guards, lowest: int = 0, highest: int = 0) -> None:
        highest = max(highest, allowed.bit_length() - 1)
        if highest - lowest > SPAN_MAXIMUM:
            raise ValueError(f"at most {SPAN_MAXIMUM} raster points from the lowest to the highest, not more")
        self.guards, self.carriers = guards, list[int]()
        self._lowest, self._reach = min(lowest, 0), highest - min(lowest, 0)
        self._allowed = allowed << -self._lowest
        # Bits of carriers; of carriers mirrored; of twice the carriers; halves of the even ones, and of the odd ones.
        self._here = self._mirrored = self._twice = self._even = self._odd = 0
        # Differences, with 0 at ``_reach``; products of three signals widened; those of two; halves of sums of pairs.
        self._differences = self._three = self._two = self._even_sums = self._odd_sums = 0

    def vacant(self) -> int:
        """The points, as bits from ``lowest`` on, where one more carrier breaks no rule."""
        guards, blocked = self.guards, _both_sides(self._here, self.guards.beside)
        if guards.three and self._differences >> self._reach & (1 << guards.three) - 1:
            return 0  # Two stand so near each other that A + B - C falls on any newcomer A.
        if guards.third:
            blocked |= self._three >> self._reach + max(0, guards.three - 1)
            if guards.two > guards.three:
                blocked |= _widened(self._two, 2 * guards.two - 1) >> self._reach + guards.two - 1
            below, above = (guards.third - 2) // 2, guards.third // 2
            blocked |= _both_sides(self._even_sums, (guards.third + 1) // 2)
            blocked |= _widened(self._odd_sums, below + above + 1) >> max(0, below)
        if guards.fifth:
            blocked |= self._blocked_by_fifth()
        return self._allowed & ~blocked

    def point(self, bit: int) -> int:
        """The raster point of a bit."""
        return bit + self._lowest

    def bit(self, point: int) -> int:
        """The bit of a raster point."""
        return point - self._lowest

    def is_vacant(self, point: int) -> bool:
        """Whether one more carrier at a point breaks no rule."""
        return point >= self._lowest and bool(self.vacant() >> (point - self._lowest) & 1)

    def add(self, point: int) -> None:
        """Let a carrier stand at a point, vacant or not."""
        x, three = point - self._lowest, self.guards.three
        fresh = self._differences_to(x)
        self._add_sums(x)
        if three:
            self._differences |= fresh
            self._three |= _widened(self._differences, 2 * three - 1) << x
            widened = _widened(fresh, 2 * three - 1)
            for carrier in self.carriers:
                self._three |= widened << carrier - self._lowest
        self._note(x)
        self.carriers.append(point)

    def take(self, point: int) -> None:
        """Take away a carrier that stood on a vacant point when it was added."""
        x = point - self._lowest
        self.carriers.remove(point)
        self._forget(x)
        if not self.guards.three:
            return self._sum_again()
        self._differences &= ~self._differences_to(x)
        even, odd = self._sums_with(x)
        self._even_sums &= ~even
        self._odd_sums &= ~odd
        widened, three = _widened(self._differences, 2 * self.guards.three - 1), 0
        for carrier in self.carriers:
            three |= widened << carrier - self._lowest
        self._three = three
        if self.guards.two > self.guards.three:
            self._two = 0
            for carrier in self.carriers:
                self._two |= self._mirrored << 2 * (carrier - self._lowest)
        return None

    def _note(self, x: int) -> None:
        self._here |= 1 << x
        self._mirrored |= 1 << self._reach - x
        self._twice |= 1 << 2 * x
        if x & 1:
            self._odd |= 1 << (x >> 1)
        else:
            self._even |= 1 << (x >> 1)

    def _forget(self, x: int) -> None:
        self._here &= ~(1 << x)
        self._mirrored &= ~(1 << self._reach - x)
        self._twice &= ~(1 << 2 * x)
        if x & 1:
            self._odd &= ~(1 << (x >> 1))
        else:
            self._even &= ~(1 << (x >> 1))

    def _differences_to(self, x: int) -> int:
        """Differences of x and the others, both ways."""
        return (self._here << self._reach - x) | (self._mirrored << x)

    def _sums_with(self, x: int) -> tuple[int, int]:
        """Halves of the even sums of x and the others, and of the odd ones, rounded down."""
        half = x >> 1
        return (self._odd << half + 1, self._even << half) if x & 1 else (self._even << half, self._odd << half)

    def _add_sums(self, x: int) -> None:
        """Sums with x, and the products of two signals that x makes with the others."""
        even, odd = self._sums_with(x)
        self._even_sums |= even
        self._odd_sums |= odd
        if self.guards.two > self.guards.three:
            self._two |= (self._mirrored << 2 * x) | (self._twice << self._reach - x)

    def _sum_again(self) -> None:
        """Sums and products of two signals, of all carriers, from nothing."""
        self._here = self._mirrored = self._twice = self._even = self._odd = 0
        self._two = self._even_sums = self._odd_sums = 0
        for carrier in self.carriers:
            self._add_sums(carrier - self._lowest)
            self._note(carrier - self._lowest)

    def _blocked_by_fifth(self) -> int:
        """Where 3A - 2B falls, and the thirds and halves from which a newcomer would make it fall on a carrier."""
        standing, guard = np.array(self.carriers, dtype=np.int64) - self._lowest, self.guards.fifth
        apart = ~np.eye(len(standing), dtype=np.bool_)
        falls = (3 * standing[:, None] - 2 * standing[None, :])[apart]
        of_three = (2 * standing[:, None] + standing[None, :])[apart]
        of_two = (3 * standing[:, None] - standing[None, :])[apart]
        edges = np.zeros(self._reach + 2, dtype=np.int64)
        for parts, centres in ((1, falls), (3, of_three), (2, of_two)):
            low = np.clip((centres - guard) // parts + 1, 0, self._reach + 1)
            high = np.clip(-(-(centres + guard) // parts), 0, self._reach + 1)
            np.add.at(edges, low, 1)
            np.add.at(edges, high, -1)
        bits = np.packbits(np.cumsum(edges[:-1]) > 0, bitorder="little")
        return int.from_bytes(bits.tobytes(), "little")


def _widened(bits: int, many: int) -> int:
    """Each bit and the ones above it, so many in all."""
    done = 1
    while done < many:
        step = min(done, many - done)
        bits |= bits << step
        done += step
    return bits if many > 0 else 0


def _both_sides(bits: int, guard: int) -> int:
    """Each bit with all that are less than ``guard`` away."""
    return _widened(bits, 2 * guard - 1) >> guard - 1
