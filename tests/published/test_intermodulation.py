"""Products of many carriers against closed forms, Babcock 1953, OEIS, and enumeration that shares no code with ours."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, permutations

import numpy as np
import pytest

from fleet.physics.intermodulation import LAID_OUT, THIRD, TRANSFORM_FROM, Family, hits, layout, total
from tests.promises.promise import TIER, Tier

SETS = 50 if TIER is Tier.TEST else 500
COUNTS = {
    Family.THIRD_TWO: {4: 12, 8: 56, 10: 90, 16: 240},
    Family.THIRD_THREE: {4: 12, 8: 168, 10: 360, 16: 1680},
    Family.FIFTH_TWO: {4: 12, 8: 56, 10: 90, 16: 240},
    Family.FIFTH_TWICE_TWICE: {4: 24, 8: 336, 10: 720, 16: 3360},
    Family.FIFTH_THRICE: {4: 12, 8: 168, 10: 360, 16: 1680},
    Family.FIFTH_FOUR: {4: 12, 8: 840, 10: 2520, 16: 21840},
    Family.FIFTH_FOUR_TWICE: {4: 4, 8: 280, 10: 840, 16: 7280},
    Family.FIFTH_FIVE: {4: 0, 8: 560, 10: 2520, 16: 43680},
}
BABCOCK = [
    [1, 2, 4],
    [1, 2, 5, 7],
    [1, 2, 5, 10, 12],
    [1, 2, 5, 11, 13, 18],
    [1, 2, 5, 11, 19, 24, 26],
    [1, 2, 5, 10, 16, 23, 33, 35],
    [1, 2, 5, 14, 25, 31, 39, 41, 46],
    [1, 2, 8, 12, 27, 40, 48, 57, 60, 62],
]
THIRD_FREE = [
    [0, 1, 4, 6],
    [0, 2, 7, 8, 11],
    [0, 1, 4, 9, 15, 22, 32, 34],
    [0, 1, 5, 12, 25, 27, 35, 41, 44],
    [0, 1, 6, 10, 23, 26, 34, 41, 53, 55],
    [0, 1, 4, 13, 28, 33, 47, 54, 64, 70, 72],
    [0, 2, 6, 24, 29, 40, 43, 55, 68, 75, 76, 85],
]
# All sums of three are different: no product of the third or fifth order falls on a carrier.
FIFTH_FREE = [[0, 1, 7, 11], [0, 1, 15, 18, 23], [0, 2, 11, 26, 42, 45]]


def enumerated(carriers: list[int], family: Family) -> Counter[int]:
    """Every product by plain enumeration."""
    c = carriers
    match family:
        case Family.THIRD_TWO:
            return Counter(2 * a - b for a, b in permutations(c, 2))
        case Family.THIRD_THREE:
            return Counter(a + b - x for a, b in combinations(c, 2) for x in c if x not in {a, b})
        case Family.FIFTH_TWO:
            return Counter(3 * a - 2 * b for a, b in permutations(c, 2))
        case Family.FIFTH_TWICE_TWICE:
            return Counter(2 * a + b - 2 * x for a, b, x in permutations(c, 3))
        case Family.FIFTH_THRICE:
            return Counter(3 * a - b - x for b, x in combinations(c, 2) for a in c if a not in {b, x})
        case Family.FIFTH_FOUR:
            pairs = list(combinations(c, 2))
            return Counter(2 * a + b - x - y for a, b in permutations(c, 2) for x, y in pairs if not {x, y} & {a, b})
        case _:
            return Counter(sum(three) - 2 * x for three in combinations(c, 3) for x in c if x not in three)


def laid_out(carriers: list[int], family: Family) -> Counter[int]:
    found = layout(np.array(carriers), family)
    return Counter({found.first + int(place): int(found.counts[place]) for place in np.flatnonzero(found.counts)})


@pytest.mark.parametrize("family", Family)
def test_closed_forms(family: Family) -> None:
    """Counts for 4, 8, 10 and 16 carriers, verified by enumeration; all of the third order are N^2 (N - 1) / 2."""
    assert {n: total(family, n) for n in COUNTS[family]} == COUNTS[family]
    assert [sum(total(each, n) for each in THIRD) for n in (4, 8, 10, 16)] == [24, 224, 450, 1920]


@pytest.mark.parametrize("family", LAID_OUT)
def test_every_product_is_where_enumeration_finds_it(family: Family) -> None:
    luck = np.random.default_rng(8_411)
    print("seed 8411")
    for _ in range(SETS):
        count = int(luck.integers(2, 9))
        carriers = sorted(int(place) for place in luck.choice(80, count, replace=False) - 20)
        assert laid_out(carriers, family) == enumerated(carriers, family), carriers


@pytest.mark.parametrize("family", THIRD)
def test_many_carriers_by_transforms_are_those_by_enumeration(family: Family) -> None:
    luck = np.random.default_rng(12)
    carriers = sorted(int(place) for place in luck.choice(9_000, TRANSFORM_FROM, replace=False))
    found = layout(np.array(carriers), family)
    assert int(found.counts.sum()) == total(family, TRANSFORM_FROM)
    expected = enumerated(carriers, family)
    assert laid_out(carriers, family) == expected


@pytest.mark.parametrize("family", LAID_OUT)
def test_as_many_are_laid_out_as_there_are(family: Family) -> None:
    carriers = np.array([0, 3, 4, 9, 17, 31, 32, 50, 77, 101])
    assert int(layout(carriers, family).counts.sum()) == total(family, 10)


@pytest.mark.parametrize("carriers", [*BABCOCK, *THIRD_FREE], ids=str)
def test_sets_without_third_order_hits(carriers: list[int]) -> None:
    """Sets quoted from Babcock 1953 (from memory, freeness verified), and rulers of OEIS A003022's lengths."""
    assert all(not hits(np.array(carriers), family, 1).any() for family in THIRD)


@pytest.mark.parametrize("carriers", FIFTH_FREE, ids=str)
def test_sets_without_any_hit(carriers: list[int]) -> None:
    """By exhaustive search: the shortest with all sums of three different, for 4, 5 and 6 carriers."""
    assert all(not hits(np.array(carriers), family, 1).any() for family in LAID_OUT)


def test_a_third_order_free_set_may_have_fifth_order_hits() -> None:
    """{0, 2, 7, 8, 11}: 3 x 8 - 2 x 11 = 2. {0, 1, 4, 9, 11} has none of that family, but others."""
    assert hits(np.array([0, 2, 7, 8, 11]), Family.FIFTH_TWO, 1).tolist() == [0, 1, 0, 0, 0]
    other = np.array([0, 1, 4, 9, 11])
    assert not hits(other, Family.FIFTH_TWO, 1).any()
    assert any(hits(other, family, 1).any() for family in LAID_OUT)


@pytest.mark.parametrize(("n", "in_two", "in_three"), [(3, 2, 1), (4, 4, 6), (5, 8, 16), (8, 24, 100), (10, 40, 220)])
def test_equal_spacing_hits_every_carrier(n: int, in_two: int, in_three: int) -> None:
    """2A-B hits floor((N-1)^2 / 2) in all; A+B-C totals 1, 6, 16, 34, 61, 100, 152, 220 for N = 3 to 10."""
    carriers = np.arange(n) * 16
    assert hits(carriers, Family.THIRD_TWO, 1).sum() == (n - 1) ** 2 // 2 == in_two
    assert hits(carriers, Family.THIRD_THREE, 1).sum() == in_three
    occupied = {place for family in THIRD for place in laid_out(carriers.tolist(), family)} | set(carriers.tolist())
    assert len(occupied) == 3 * n - 2
    assert (min(occupied), max(occupied)) == (-(n - 1) * 16, 2 * (n - 1) * 16)


def test_eight_equally_spaced_suffer_most_in_the_middle() -> None:
    """Per carrier A+B-C 9, 12, 14, 15, 15, 14, 12, 9 and 2A-B three each."""
    carriers = np.arange(8) * 4
    assert hits(carriers, Family.THIRD_THREE, 1).tolist() == [9, 12, 14, 15, 15, 14, 12, 9]
    assert hits(carriers, Family.THIRD_TWO, 1).tolist() == [3] * 8


def test_worked_frequencies() -> None:
    """600.0 and 600.4 MHz: 599.6, 600.8; fifth 599.2, 601.2. With 601.0: A+B-C at 599.4, 600.6, 601.4."""
    assert laid_out([6000, 6004], Family.THIRD_TWO) == Counter([5996, 6008])
    assert laid_out([6000, 6004], Family.FIFTH_TWO) == Counter([5992, 6012])
    assert laid_out([6000, 6004, 6010], Family.THIRD_THREE) == Counter([5994, 6006, 6014])


def test_a_guard_is_what_a_product_must_keep_off() -> None:
    """A product two steps away is within a guard of three, and not of two; a guard of 0 looks for nothing."""
    carriers = np.array([0, 10, 22])
    assert hits(carriers, Family.THIRD_TWO, 3).tolist() == [1, 0, 1]
    assert hits(carriers, Family.THIRD_TWO, 2).tolist() == [0, 0, 0]
    assert hits(carriers, Family.THIRD_TWO, 0).tolist() == [0, 0, 0]


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="different whole numbers"):
        layout(np.array([1, 1, 2]), Family.THIRD_TWO)
    with pytest.raises(ValueError, match="different whole numbers"):
        layout(np.array([1.5, 2.0]), Family.THIRD_TWO)
    with pytest.raises(ValueError, match="counted only"):
        layout(np.array([1, 2]), Family.FIFTH_FIVE)
    assert layout(np.array([], dtype=np.int64), Family.THIRD_TWO).counts.sum() == 0
