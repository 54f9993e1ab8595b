"""The products that fall near one carrier, each with its makers, the worst first. Listed for a chosen victim only.

Sums of the first makers meet sums of the last ones in the middle, so that a thousand carriers can be asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fleet.physics.intermodulation import LAID_OUT, Family
from fleet.physics.third_order import three_signal_product_dbm, two_signal_product_dbm

Indices = NDArray[np.int64]
FACTORS: dict[Family, tuple[int, ...]] = {
    Family.THIRD_TWO: (2, -1),
    Family.THIRD_THREE: (1, 1, -1),
    Family.FIFTH_TWO: (3, -2),
    Family.FIFTH_TWICE_TWICE: (2, 1, -2),
    Family.FIFTH_THRICE: (3, -1, -1),
    Family.FIFTH_FOUR: (2, 1, -1, -1),
    Family.FIFTH_FOUR_TWICE: (1, 1, 1, -2),
}
"""By what the makers are multiplied, in the order of the family's letters."""
WEIGHED_MAXIMUM = 1_000_000
"""So many products of a family are weighed at the most: with more, only those nearer to the victim are."""


@dataclass(frozen=True, slots=True)
class Product:
    """One product: its makers in the order of the family's letters, where it falls, and its level if that is known."""

    family: Family
    makers: tuple[int, ...]
    place: int
    level_dbm: float | None = None


@dataclass(frozen=True, slots=True)
class Powers:
    """What the carriers have at the place where products arise, in their order, and the intercept point there."""

    carriers_dbm: tuple[float, ...]
    intercept_dbm: float


def products_near(
    carriers: Sequence[int],
    victim: int,
    guard: int,
    families: Sequence[Family] = LAID_OUT,
    *,
    powers: Powers | None = None,
    most: int = 100,
) -> tuple[Product, ...]:
    """The worst ``most`` products that fall less than a guard, in steps, from a victim.

    Strongest first where levels are known, which they are of the third order if powers are given; then nearest first.
    Raises ValueError for carriers that repeat, powers that aren't one a carrier, and the family that is only counted.
    """
    places = np.asarray(carriers, dtype=np.int64)
    if len(np.unique(places)) != len(places):
        raise ValueError("carriers are different whole numbers of raster steps")
    if powers is not None and len(powers.carriers_dbm) != len(places):
        raise ValueError(f"{len(powers.carriers_dbm)} powers were given for {len(places)} carriers")
    found: list[Product] = []
    for family in families:
        if family not in FACTORS:
            raise ValueError(f"{family} is counted only: there are too many of its products to list")
        if guard > 0 and len(places) >= len(FACTORS[family]):
            makers = _makers(places, family, victim, guard - 1)
            found += _worst(places, family, makers, (victim, most), powers)
    return tuple(sorted(found, key=lambda product: _badness(product, victim))[:most])


def carrier_to_interference_db(victim_dbm: float, products: Sequence[Product]) -> float | None:
    """How far a victim stands above the sum of the powers of some products; None where no level is known."""
    levels = [product.level_dbm for product in products if product.level_dbm is not None]
    if not levels:
        return None
    return victim_dbm - 10.0 * float(np.log10(np.sum(10.0 ** (np.array(levels) / 10.0))))


def _badness(product: Product, victim: int) -> tuple[float, int, str, tuple[int, ...]]:
    weakness = np.inf if product.level_dbm is None else -product.level_dbm
    return weakness, abs(product.place - victim), product.family.value, product.makers


def _choices(places: Indices, factors: tuple[int, ...]) -> tuple[Indices, Indices]:
    """All choices of one or two makers [choices, makers], those that only swap equal factors once; and their sums."""
    if len(factors) == 1:
        chosen = np.arange(len(places))[:, None]
    else:
        first, second = np.indices((len(places), len(places)))
        chosen = np.argwhere(first < second if factors[0] == factors[1] else first != second)
    return chosen, places[chosen] @ np.array(factors)


def _makers(places: Indices, family: Family, victim: int, radius: int) -> Indices:
    """The makers of a family's products that fall at most a radius from the victim: indices [products, makers]."""
    factors = FACTORS[family]
    head_count = (len(factors) + 1) // 2
    heads, head_sums = _choices(places, factors[:head_count])
    tails, tail_sums = _choices(places, factors[head_count:])
    order = np.argsort(tail_sums, kind="stable")
    tails, tail_sums = tails[order], tail_sums[order]
    while True:
        low = np.searchsorted(tail_sums, victim - radius - head_sums, "left")
        met = np.searchsorted(tail_sums, victim + radius - head_sums, "right") - low
        if met.sum() <= WEIGHED_MAXIMUM or radius == 0:
            break
        radius //= 2
    head = np.repeat(np.arange(len(heads)), met)[:WEIGHED_MAXIMUM]
    within = np.arange(len(head)) - np.repeat(np.cumsum(met) - met, met)[:WEIGHED_MAXIMUM]
    makers = np.hstack([heads[head], tails[low[head] + within]])
    return makers[_different(makers, factors)]


def _different(makers: Indices, factors: tuple[int, ...]) -> NDArray[np.bool_]:
    """Which choices take no carrier twice, and none that only swaps equal factors."""
    ranked = np.sort(makers, axis=1)
    kept = (ranked[:, 1:] != ranked[:, :-1]).all(axis=1)
    for at in range(len(factors) - 1):
        if factors[at] == factors[at + 1]:
            kept &= makers[:, at] < makers[:, at + 1]
    return np.asarray(kept)


def _worst(
    places: Indices, family: Family, makers: Indices, wanted: tuple[int, int], powers: Powers | None
) -> list[Product]:
    """The worst products of one family: of (victim, how many)."""
    victim, most = wanted
    falls = places[makers] @ np.array(FACTORS[family])
    levels = (
        None if powers is None else _levels_dbm(family, np.array(powers.carriers_dbm)[makers], powers.intercept_dbm)
    )
    away = np.abs(falls - victim)
    order = np.argsort(away, kind="stable") if levels is None else np.lexsort((away, -levels))
    return [
        Product(
            family,
            tuple(int(place) for place in places[makers[each]]),
            int(falls[each]),
            None if levels is None else float(levels[each]),
        )
        for each in order[:most]
    ]


def _levels_dbm(family: Family, makers_dbm: ArrayLike, intercept_dbm: float) -> NDArray[np.float64] | None:
    """Levels of products of the third order; of the fifth an intercept of its own would have to be known."""
    columns = np.asarray(makers_dbm, dtype=np.float64).T
    match family:
        case Family.THIRD_TWO:
            return two_signal_product_dbm(columns[0], columns[1], intercept_dbm)
        case Family.THIRD_THREE:
            return three_signal_product_dbm(columns[0], columns[1], columns[2], intercept_dbm)
        case _:
            return None
