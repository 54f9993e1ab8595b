"""Sets by algebra, held by enumeration to what Singer (1938) and Bose (1942) prove of them."""

from __future__ import annotations

import pytest

from fleet.planning.coordination.difference_sets import DifferenceSet, bose, singer
from fleet.planning.coordination.finite_field import ELEMENTS_MAXIMUM, field_of, prime_power

POWERS = (2, 3, 4, 5, 7, 8, 9, 11, 13, 16, 17, 19, 23, 25, 27, 29, 31, 32, 37, 41, 43, 47, 49)


def differences(marks: tuple[int, ...], modulus: int) -> list[int]:
    return [(a - b) % modulus for a in marks for b in marks if a != b]


@pytest.mark.parametrize("elements", POWERS)
def test_singer_sets_have_every_difference_once(elements: int) -> None:
    """A perfect difference set: q + 1 marks, whose q (q + 1) differences are all there are modulo q^2 + q + 1."""
    found = singer(elements)
    assert (len(found.marks), found.modulus) == (elements + 1, elements**2 + elements + 1)
    assert sorted(differences(found.marks, found.modulus)) == list(range(1, found.modulus))


@pytest.mark.parametrize("elements", POWERS)
def test_bose_sets_have_every_difference_once_but_multiples_of_q_and_one(elements: int) -> None:
    found = bose(elements)
    assert (len(found.marks), found.modulus) == (elements, elements**2 - 1)
    expected = [each for each in range(1, found.modulus) if each % (elements + 1)]
    assert sorted(differences(found.marks, found.modulus)) == expected


@pytest.mark.parametrize("found", [singer(4), singer(7), bose(8), bose(11)])
def test_factors_leave_out_only_turns(found: DifferenceSet) -> None:
    """By laying every multiple of a set at each of its marks: as many differ as there are factors, no fewer."""

    def turned(marks: tuple[int, ...]) -> frozenset[tuple[int, ...]]:
        return frozenset(tuple(sorted((mark - first) % found.modulus for mark in marks)) for first in marks)

    multiples = {turned(tuple(mark * factor % found.modulus for mark in found.marks)) for factor in coprime(found)}
    kept = [turned(found.times(factor)) for factor in found.factors()]
    assert set(kept) == multiples
    assert len(kept) == len(multiples)


def coprime(found: DifferenceSet) -> list[int]:
    return [
        factor
        for factor in range(1, found.modulus)
        if all(factor % part or found.modulus % part for part in range(2, found.modulus + 1))
    ]


@pytest.mark.parametrize("elements", [2, 4, 7, 8, 9, 16, 25, 27])
def test_fields_keep_the_laws(elements: int) -> None:
    """Each row a permutation, but for products with 0; the law of distribution; both orders the same."""
    field, whole = field_of(elements), range(elements)
    assert all(sorted(row) == list(whole) for row in field.sums)
    assert all(sorted(row) == list(whole) for row in field.products[1:])
    assert set(field.products[0]) == {0}
    for a in whole:
        for b in whole:
            assert field.sums[a][b] == field.sums[b][a]
            assert field.products[a][b] == field.products[b][a]
            c = (a * 7 + b * 3 + 1) % elements
            assert field.products[c][field.sums[a][b]] == field.sums[field.products[c][a]][field.products[c][b]]


@pytest.mark.parametrize("elements", [-1, 0, 1, 6, 12, 100, ELEMENTS_MAXIMUM + 1])
def test_there_is_no_field_of_such_a_number(elements: int) -> None:
    with pytest.raises(ValueError, match="a power of a prime"):
        field_of(elements)


def test_powers_of_primes() -> None:
    assert [each for each in range(33) if prime_power(each)] == [
        *(2, 3, 4, 5, 7, 8, 9, 11, 13, 16, 17, 19, 23, 25, 27, 29, 31, 32)
    ]
    assert (prime_power(27), prime_power(2), prime_power(64)) == ((3, 3), (2, 1), (2, 6))
