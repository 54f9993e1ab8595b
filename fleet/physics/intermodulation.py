"""Products of the third and fifth order of many carriers: how many fall where, exactly.

Carriers are whole numbers of raster steps, all different. A family is named by its signals: two-signal third order is
2A - B, three-signal third order A + B - C; of the fifth order there are five families that are laid out and one that is
counted only. In a family all letters stand for different carriers: products that are one of their own makers again,
such as A + B - B, are none (Babcock 1953; the closed forms are checked by enumeration).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

Counts = NDArray[np.int64]
# So many carriers and more are folded by Fourier transforms; with fewer, adding shifted histograms is quicker.
TRANSFORM_FROM = 160


class Family(StrEnum):
    """The families of products; the value is how one is written."""

    THIRD_TWO = "2A-B"
    THIRD_THREE = "A+B-C"
    FIFTH_TWO = "3A-2B"
    FIFTH_TWICE_TWICE = "2A+B-2C"
    FIFTH_THRICE = "3A-B-C"
    FIFTH_FOUR = "2A+B-C-D"
    FIFTH_FOUR_TWICE = "A+B+C-2D"
    FIFTH_FIVE = "A+B+C-D-E"


THIRD = (Family.THIRD_TWO, Family.THIRD_THREE)
LAID_OUT = tuple(family for family in Family if family is not Family.FIFTH_FIVE)


def total(family: Family, carriers: int) -> int:
    """How many products a family has with that many carriers."""
    n = carriers
    match family:
        case Family.THIRD_TWO | Family.FIFTH_TWO:
            return n * (n - 1)
        case Family.THIRD_THREE | Family.FIFTH_THRICE:
            return n * (n - 1) * (n - 2) // 2
        case Family.FIFTH_TWICE_TWICE:
            return n * (n - 1) * (n - 2)
        case Family.FIFTH_FOUR:
            return n * (n - 1) * (n - 2) * (n - 3) // 2
        case Family.FIFTH_FOUR_TWICE:
            return n * (n - 1) * (n - 2) * (n - 3) // 6
        case Family.FIFTH_FIVE:
            return n * (n - 1) * (n - 2) * (n - 3) * (n - 4) // 12


@dataclass(frozen=True, slots=True)
class Layout:
    """How many products fall on each raster point: ``counts`` [points], the first of which is ``first``."""

    first: int
    counts: Counts

    def within(self, places: Counts, guard: int) -> Counts:
        """How many products fall less than a guard, in steps, from each place; a guard of 0 finds none."""
        if guard <= 0:
            return np.zeros(len(places), dtype=np.int64)
        sums = np.concatenate([[0], np.cumsum(self.counts)])
        low = np.clip(places - guard + 1 - self.first, 0, len(self.counts))
        high = np.clip(places + guard - self.first, 0, len(self.counts))
        return np.asarray(sums[high] - sums[low])


def layout(carriers: ArrayLike, family: Family) -> Layout:
    """Where all products of a family fall, exactly.

    Raises ValueError for carriers that are not different whole numbers, and for the family that is counted only.
    """
    places = np.asarray(carriers)
    if places.ndim != 1 or not np.issubdtype(places.dtype, np.integer) or len(np.unique(places)) != len(places):
        raise ValueError("carriers are different whole numbers of raster steps")
    if family is Family.FIFTH_FIVE:
        raise ValueError(f"{family} is counted only: total() says how many there are")
    if not len(places):
        return Layout(0, np.zeros(1, dtype=np.int64))
    origin = int(places.min())
    found = _Sums(np.sort(places - origin)).products(family)
    return Layout(found.first + origin, found.counts)


def hits(carriers: ArrayLike, family: Family, guard: int) -> Counts:
    """How many products of a family fall less than a guard, in steps, from each carrier, in their order."""
    places = np.asarray(carriers)
    return layout(places, family).within(places.astype(np.int64), guard)


class _Sums:
    """Histograms of sums of carriers that begin at 0; each is [points] and begins at 0 as well."""

    def __init__(self, places: Counts) -> None:
        self._places = places
        self._n = len(places)
        self._span = int(places[-1])
        self._fold: Callable[[Counts, int], Counts] = (
            self._by_transform if self._n >= TRANSFORM_FROM else self._by_shifts
        )
        self.once, self.twice, self.thrice = (self._multiples(times) for times in (1, 2, 3))

    def _multiples(self, times: int) -> Counts:
        counts = np.zeros(times * self._span + 1, dtype=np.int64)
        counts[times * self._places] = 1
        return counts

    def _by_shifts(self, counts: Counts, times: int) -> Counts:
        """A histogram folded with that of a multiple of the carriers, by adding it once for each, shifted."""
        folded = np.zeros(len(counts) + times * self._span, dtype=np.int64)
        for place in times * self._places:
            folded[place : place + len(counts)] += counts
        return folded

    def _by_transform(self, counts: Counts, times: int) -> Counts:
        """The same by Fourier transforms. Counts stay so far below 2^53 that rounding is exact."""
        other = (self.once, self.twice, self.thrice)[times - 1]
        length = len(counts) + len(other) - 1
        size = 1 << (length - 1).bit_length()
        product = np.fft.irfft(np.fft.rfft(counts, size) * np.fft.rfft(other, size), size)[:length]
        return np.rint(product).astype(np.int64)

    @property
    def pairs(self) -> Counts:
        """A + B, each pair once."""
        return _less(self._fold(self.once, 1), self.twice) // 2

    @property
    def twice_and_once(self) -> Counts:
        """2A + B."""
        return _less(self._fold(self.twice, 1), self.thrice)

    @property
    def triples(self) -> Counts:
        """A + B + C, each three once."""
        ordered = self._fold(self._fold(self.once, 1), 1)
        return (_less(_less(ordered, 3 * self._fold(self.twice, 1)), -2 * self.thrice)) // 6

    def less(self, counts: Counts, times: int) -> Layout:
        """A histogram of sums, less a multiple of each carrier in turn."""
        turned = self._fold(counts[::-1], times)[::-1]
        return Layout(-times * self._span, turned)

    def less_pairs(self, counts: Counts) -> Layout:
        """A histogram of sums, less each pair of different carriers."""
        twice_taken = self._fold(self._fold(counts[::-1], 1), 1)[::-1]
        taken_double = self._fold(counts[::-1], 2)[::-1]
        return Layout(-2 * self._span, (twice_taken - taken_double) // 2)

    def products(self, family: Family) -> Layout:
        """A family's products: all sums, less those in which a letter meets its own."""
        n, own = self._n, Layout(0, self.once)
        match family:
            case Family.THIRD_TWO:
                return _without(self.less(self.twice, 1), (1, own))
            case Family.THIRD_THREE:
                return _without(self.less(self.pairs, 1), (n - 1, own))
            case Family.FIFTH_TWO:
                return _without(self.less(self.thrice, 2), (1, own))
            case Family.FIFTH_TWICE_TWICE:
                two = self.products(Family.THIRD_TWO)
                return _without(self.less(self.twice_and_once, 2), (n - 1, own), (1, two))
            case Family.FIFTH_THRICE:
                return _without(self.less_pairs(self.thrice), (1, self.products(Family.THIRD_TWO)))
            case Family.FIFTH_FOUR:
                two, three = self.products(Family.THIRD_TWO), self.products(Family.THIRD_THREE)
                return _without(self.less_pairs(self.twice_and_once), (2, three), (n - 1, own), (n - 2, two))
            case _:
                return _without(self.less(self.triples, 2), (1, self.products(Family.THIRD_THREE)))


def _less(counts: Counts, other: Counts) -> Counts:
    """One histogram less another, both from 0 on; the shorter one counts as zeros beyond."""
    found = np.zeros(max(len(counts), len(other)), dtype=np.int64)
    found[: len(counts)] += counts
    found[: len(other)] -= other
    return found


def _without(whole: Layout, *parts: tuple[int, Layout]) -> Layout:
    """A layout less so many times each of some others, all of which lie within it."""
    counts = whole.counts.copy()
    for times, part in parts:
        start = part.first - whole.first
        counts[start : start + len(part.counts)] -= times * part.counts
    return Layout(whole.first, counts)
