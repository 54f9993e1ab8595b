"""Sets with all differences distinct by algebra: what luck alone would hardly find.

Laid out in units of the greatest guard, such a set keeps all products of the third order off by it. Any multiple (by a
number without a common factor with the modulus) and any turn of such a set is one again.

Singer (1938): q + 1 marks modulo q^2 + q + 1. Bose (1942): q marks modulo q^2 - 1. Both for any power q of a prime,
and both found here as the places where a linear recurrence over the field of q elements takes a value. Ruzsa's sets
(1993), p - 1 marks modulo p (p - 1), are sparser than either: in trials they never were the fullest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from math import gcd

from fleet.planning.coordination.finite_field import Field, field_of


@dataclass(frozen=True, slots=True)
class DifferenceSet:
    """Marks, sorted, whose differences are distinct modulo ``modulus``; times ``multiplier`` it is its own turn."""

    marks: tuple[int, ...]
    modulus: int
    multiplier: int = 1

    def times(self, factor: int) -> tuple[int, ...]:
        """The marks multiplied, sorted again."""
        return tuple(sorted(mark * factor % self.modulus for mark in self.marks))

    def factors(self) -> Iterator[int]:
        """Factors that make sets of which none is just a turn of another."""
        seen: set[int] = set()
        for factor in range(1, self.modulus):
            if factor in seen or gcd(factor, self.modulus) > 1:
                continue
            same = factor
            while same not in seen:
                seen.add(same)
                same = same * self.multiplier % self.modulus
            yield factor


@lru_cache(maxsize=64)
def singer(elements: int) -> DifferenceSet:
    """Singer's q + 1 marks: the zeros of a recurrence of order three that turns, but for a factor, once in q^2 + q + 1.

    Raises ValueError where no field has so many elements.
    """
    field, modulus = field_of(elements), elements * elements + elements + 1
    for coefficients in _coefficients(elements, 3):
        values = _period(field, coefficients)
        if len(values) == modulus:
            return DifferenceSet(tuple(at for at, value in enumerate(values) if value == 0), modulus, field.prime)
    raise AssertionError(f"no recurrence of order three over {elements} elements")


@lru_cache(maxsize=64)
def bose(elements: int) -> DifferenceSet:
    """Bose's q marks: where a recurrence of order two, which comes back after q^2 - 1 values, is one.

    Raises ValueError where no field has so many elements.
    """
    field, modulus = field_of(elements), elements * elements - 1
    for coefficients in _coefficients(elements, 2):
        values = _period(field, coefficients)
        if len(values) == modulus:
            return DifferenceSet(tuple(at for at, value in enumerate(values) if value == 1), modulus, field.prime)
    raise AssertionError(f"no recurrence of order two over {elements} elements")


def _coefficients(elements: int, order: int) -> Iterator[tuple[int, ...]]:
    """All coefficients of a recurrence; the farthest, which must not be 0, changes fastest: it decides most."""
    for *others, farthest in product(*[range(elements)] * (order - 1), range(1, elements)):
        yield (farthest, *others)


def _period(field: Field, coefficients: tuple[int, ...]) -> list[int]:
    """Values, each the sum of those before times the coefficients, the farthest first; from 0s and a 1 on.

    Until it begins again: of order two with the same values, of order three with a multiple. It always does.
    """
    sums, rows = field.sums, [field.products[coefficient] for coefficient in coefficients]
    beginning = [0, 1] if len(rows) == 2 else [0, 0]
    values = [0] * (len(rows) - 1) + [1]
    while len(values) == len(rows) or values[-2:] != beginning:
        value = 0
        for row, each in zip(rows, values[-len(rows) :], strict=True):
            value = sums[value][row[each]]
        values.append(value)
    return values[:-2]
