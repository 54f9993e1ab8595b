"""Which single product is the worst on each carrier of an antenna, and whose it is; made by the strongest carriers."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fleet.model.forecast import CarrierName, WorstProduct
from fleet.physics.intermodulation import Family
from fleet.physics.third_order import TRIPLE_BEAT_DB, three_signal_product_dbm, two_signal_product_dbm

STRONGEST = 64
"""So many of the strongest carriers of an antenna are looked at as makers; the sums leave out none."""
Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


class Candidates:
    """All third-order products of the strongest carriers at an antenna, by frequency."""

    def __init__(self, names: Sequence[CarrierName], level_dbm: Floats, intercept_dbm: float) -> None:
        order = np.argsort(-level_dbm, kind="stable")
        order = order[np.isfinite(level_dbm[order])]
        chosen = order[:STRONGEST]
        self._names = [names[number] for number in chosen]
        hz = np.array([name.frequency_hz for name in self._names], dtype=np.int64)
        dbm = level_dbm[chosen]
        two, three = _pairs(hz), _triples(hz)
        falls_hz = np.concatenate([2 * hz[two[0]] - hz[two[1]], hz[three[0]] + hz[three[1]] - hz[three[2]]])
        falls_dbm = np.concatenate(
            [
                two_signal_product_dbm(dbm[two[0]], dbm[two[1]], intercept_dbm),
                three_signal_product_dbm(dbm[three[0]], dbm[three[1]], dbm[three[2]], intercept_dbm),
            ]
        )
        self._pairs, self._triples = two, three
        self._order = np.argsort(falls_hz, kind="stable")
        self._falls_hz, self._falls_dbm = falls_hz[self._order], falls_dbm[self._order]
        self._missed_dbm = _most_missed_dbm(level_dbm[order], intercept_dbm)

    def worst(self, frequency_hz: int, half_width_hz: float) -> WorstProduct | None:
        """The strongest that falls less than a half width from a frequency; None where none does."""
        # Whole numbers on both sides: numpy would turn the whole column into floats for each carrier.
        low = np.searchsorted(self._falls_hz, math.floor(frequency_hz - half_width_hz), "right")
        high = np.searchsorted(self._falls_hz, math.ceil(frequency_hz + half_width_hz), "left")
        if low >= high:
            return None
        at = int(low + np.argmax(self._falls_dbm[low:high]))
        number, level_dbm = int(self._order[at]), float(self._falls_dbm[at])
        family, makers = self._made(number)
        names = tuple(self._names[maker] for maker in makers)
        return WorstProduct(family.value, names, int(self._falls_hz[at]), level_dbm, level_dbm >= self._missed_dbm)

    def _made(self, number: int) -> tuple[Family, Indices]:
        pairs = self._pairs.shape[1]
        if number < pairs:
            return Family.THIRD_TWO, self._pairs[:, number]
        return Family.THIRD_THREE, self._triples[:, number - pairs]


def _pairs(hz: Indices) -> Indices:
    """A and B of 2A - B, [2, products]; carriers on one frequency make nothing new with each other."""
    return np.asarray(np.array(np.nonzero(hz[:, np.newaxis] != hz[np.newaxis, :])))


def _triples(hz: Indices) -> Indices:
    """A, B and C of A + B - C, [3, products]: A before B, all on different frequencies."""
    first, second = np.triu_indices(len(hz), 1)
    apart = hz[first] != hz[second]
    first, second = first[apart], second[apart]
    distinct = (hz[first][:, np.newaxis] != hz) & (hz[second][:, np.newaxis] != hz)
    pair, third = np.nonzero(distinct)
    return np.asarray(np.array([first[pair], second[pair], third]))


def _most_missed_dbm(sorted_dbm: Floats, intercept_dbm: float) -> float:
    """What a product with a maker that wasn't looked at can be at the most; minus infinity when all were."""
    if len(sorted_dbm) <= STRONGEST:
        return float(-np.inf)
    strongest_dbm, next_dbm, left_out_dbm = sorted_dbm[0], sorted_dbm[1], sorted_dbm[STRONGEST]
    two_dbm = 2.0 * strongest_dbm + left_out_dbm
    return float(max(two_dbm, strongest_dbm + next_dbm + left_out_dbm + TRIPLE_BEAT_DB) - 2.0 * intercept_dbm)
