"""Products of a chosen victim against plain enumeration and the spectrum of a sampled cubic."""

from __future__ import annotations

import math
from collections import Counter
from itertools import permutations

import numpy as np
import pytest

from fleet.physics.intermodulation import LAID_OUT, THIRD, Family, layout
from fleet.physics.products import Powers, carrier_to_interference_db, products_near

SEED = 5_077
SAMPLES = 8_192
NUMBERS = {
    "2A-B": (2, -1),
    "A+B-C": (1, 1, -1),
    "3A-2B": (3, -2),
    "2A+B-2C": (2, 1, -2),
    "3A-B-C": (3, -1, -1),
    "2A+B-C-D": (2, 1, -1, -1),
    "A+B+C-2D": (1, 1, 1, -2),
}


def enumerated(carriers: list[int], victim: int, guard: int, family: Family) -> Counter[tuple[tuple[int, int], ...]]:
    """Each product as its makers with their numbers, whatever their order; alike ones come once."""
    numbers = NUMBERS[family.value]
    found = {
        tuple(sorted(zip(makers, numbers, strict=True)))
        for makers in permutations(carriers, len(numbers))
        if abs(sum(map(math.prod, zip(makers, numbers, strict=True))) - victim) < guard
    }
    return Counter(found)


@pytest.mark.parametrize("family", LAID_OUT)
def test_every_product_near_a_victim_is_listed_once(family: Family) -> None:
    print(f"seed {SEED}")
    luck = np.random.default_rng(SEED)
    for _ in range(15):
        carriers = (luck.choice(90, int(luck.integers(1, 8)), replace=False) - 20).tolist()
        victim, guard = int(luck.integers(-30, 80)), int(luck.integers(0, 9))
        listed = products_near(carriers, victim, guard, [family], most=10_000)
        numbers = NUMBERS[family.value]
        as_enumerated = Counter(tuple(sorted(zip(each.makers, numbers, strict=True))) for each in listed)
        assert as_enumerated == enumerated(carriers, victim, guard, family)
        assert all(each.place == sum(map(math.prod, zip(each.makers, numbers, strict=True))) for each in listed)
        away = [abs(each.place - victim) for each in listed]
        assert away == sorted(away)


def test_as_many_are_listed_as_are_counted_among_hundreds() -> None:
    luck = np.random.default_rng(SEED)
    carriers = luck.choice(8_961, 300, replace=False)
    for family in THIRD:
        listed = products_near(carriers.tolist(), int(carriers[0]), 4, [family], most=1_000_000)
        assert len(listed) == int(layout(carriers, family).within(carriers[:1], 4)[0])


def test_of_too_many_the_nearest_are_listed() -> None:
    """Four makers of two hundred, crowded: far more than are weighed, and still all that are listed hit exactly."""
    listed = products_near(list(range(200)), 100, 40, [Family.FIFTH_FOUR], most=50)
    assert [each.place for each in listed] == [100] * 50
    assert len({each.makers for each in listed}) == 50


def test_levels_and_order_are_those_of_a_sampled_cubic() -> None:
    """Each product that stands alone in its bin is as strong as the spectrum says, and the strongest comes first."""
    carriers, levels_dbm, intercept_dbm = (800, 870, 985, 1_021), (-30.0, -36.0, -27.5, -33.0), -7.5
    moments = 2.0 * np.pi * np.arange(SAMPLES) / SAMPLES
    sizes = 10.0 ** (np.array(levels_dbm) / 20.0)
    entering = sum(size * np.cos(at * moments) for size, at in zip(sizes, carriers, strict=True))
    cubed = entering - 4.0 / 3.0 / 10.0 ** (intercept_dbm / 10.0) * entering**3
    spectrum_dbm = 20.0 * np.log10(np.abs(np.fft.rfft(cubed)) * 2.0 / SAMPLES + 1e-12)
    listed = products_near(carriers, 900, 400, THIRD, powers=Powers(levels_dbm, intercept_dbm))
    assert len(listed) == 24
    shared = Counter(each.place for each in listed)
    alone = [each for each in listed if shared[each.place] == 1 and each.place not in carriers]
    assert len(alone) > 15
    for each in alone:
        assert each.level_dbm == pytest.approx(spectrum_dbm[each.place], abs=0.01)
    strongest = np.array([spectrum_dbm[each.place] for each in alone])
    assert (np.diff(strongest) < 0.02).all()
    assert np.ptp(strongest) > 10.0


def test_carrier_to_interference_adds_powers() -> None:
    """Two products of -90 dBm are -86.99 dBm together (by hand): a victim at -60 stands 26.99 dB above them."""
    listed = products_near((0, 10, 20, 30), 40, 1, [Family.THIRD_TWO], powers=Powers((-30.0,) * 4, 0.0))
    assert [(each.makers, each.level_dbm) for each in listed] == [((20, 0), -90.0), ((30, 20), -90.0)]
    assert carrier_to_interference_db(-60.0, listed) == pytest.approx(26.99, abs=0.005)


def test_levels_of_the_fifth_order_are_not_known() -> None:
    listed = products_near((0, 10), 30, 1, powers=Powers((-30.0, -30.0), 0.0))
    assert [(each.family, each.level_dbm) for each in listed] == [(Family.FIFTH_TWO, None)]
    assert carrier_to_interference_db(-60.0, listed) is None


def test_what_makes_no_sense() -> None:
    with pytest.raises(ValueError, match="different"):
        products_near((1, 1), 0, 1)
    with pytest.raises(ValueError, match="1 powers were given for 2"):
        products_near((1, 2), 0, 1, powers=Powers((-30.0,), 0.0))
    with pytest.raises(ValueError, match="counted only"):
        products_near((1, 2), 0, 1, [Family.FIFTH_FIVE])
