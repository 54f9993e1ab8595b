"""Finite fields as tables: small ones, for the algebra of difference sets.

An element of the field of p^k elements is a number from 0 to p^k - 1, whose digits to the base p are the coefficients
of a polynomial, the lowest first. Products are taken modulo a polynomial of which x is a primitive root.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product

ELEMENTS_MAXIMUM = 256
"""A field's tables have as many entries as the square of its elements."""


@dataclass(frozen=True, slots=True)
class Field:
    """Sums and products of any two elements, each a table of rows; ``prime`` is the characteristic."""

    prime: int
    sums: tuple[tuple[int, ...], ...]
    products: tuple[tuple[int, ...], ...]

    @property
    def elements(self) -> int:
        """How many elements the field has."""
        return len(self.sums)


def prime_power(elements: int) -> tuple[int, int] | None:
    """The prime and the exponent that make up a number of elements; None where there is no such field."""
    prime = next((each for each in range(2, elements + 1) if elements % each == 0), 0)
    exponent, rest = 0, elements
    while prime and rest % prime == 0:
        rest //= prime
        exponent += 1
    return (prime, exponent) if exponent and rest == 1 else None


@lru_cache(maxsize=64)
def field_of(elements: int) -> Field:
    """The field of so many elements.

    Raises ValueError where there is none, or it is greater than ``ELEMENTS_MAXIMUM``.
    """
    found = prime_power(elements)
    if found is None or elements > ELEMENTS_MAXIMUM:
        raise ValueError(f"a field of 2 to {ELEMENTS_MAXIMUM} elements, a power of a prime, not {elements}")
    prime, exponent = found
    if exponent == 1:
        whole = range(prime)
        sums = tuple(tuple((a + b) % prime for b in whole) for a in whole)
        return Field(prime, sums, tuple(tuple(a * b % prime for b in whole) for a in whole))
    return _extended(prime, exponent)


def _extended(prime: int, exponent: int) -> Field:
    """The field of p^k elements, from the powers of x."""
    powers = next(
        powers
        for tail in product(range(prime), repeat=exponent)
        if len(set(powers := _powers_of_x(prime, tail))) == len(powers) and 0 not in powers
    )
    elements = prime**exponent
    logarithm = {element: index for index, element in enumerate(powers)}
    digits = [[element // prime**place % prime for place in range(exponent)] for element in range(elements)]
    sums = tuple(tuple(_number(prime, [a + b for a, b in zip(x, y, strict=True)]) for y in digits) for x in digits)
    products = tuple(
        tuple(powers[(logarithm[a] + logarithm[b]) % (elements - 1)] if a and b else 0 for b in range(elements))
        for a in range(elements)
    )
    return Field(prime, sums, products)


def _powers_of_x(prime: int, tail: tuple[int, ...]) -> list[int]:
    """Powers of x from 0 on, once round if x is primitive, where x^k is minus the polynomial ``tail``."""
    digits, powers = [1] + [0] * (len(tail) - 1), []
    for _ in range(prime ** len(tail) - 1):
        powers.append(_number(prime, digits))
        carried = digits[-1]
        digits = [(low - carried * each) % prime for low, each in zip([0, *digits[:-1]], tail, strict=True)]
    return powers


def _number(prime: int, digits: list[int]) -> int:
    return sum(digit % prime * prime**place for place, digit in enumerate(digits))
