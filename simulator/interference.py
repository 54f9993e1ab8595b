"""What carriers suffer from others beside their frequency: through the filters, and as products of two or three.

Products are of the third order. They arise in a front end that two or three strong carriers reach, and in packs so
near one another that one's transmitter mixes what the other sends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import mw_from_dbm
from fleet.physics.propagation import free_space_loss_db
from fleet.physics.selectivity import REACH_HZ, selectivity_db
from fleet.physics.third_order import three_signal_product_dbm, two_signal_product_dbm
from simulator.paths import Emission
from simulator.venue import NEAREST_M
from simulator.ways import CAPTURE_HALF_WIDTH_HZ

# Common practice for a receiver of this kind; it makes two carriers at -25 dBm a product at -60.
INTERCEPT_DBM = -7.5
# What is weaker at an antenna makes no product worth reckoning; no more than so many of the strongest are looked at.
STRONG_DBM = -50.0
STRONGEST = 12
# Assumption: a product is heard in a channel whose middle is less than this away.
PRODUCT_HALF_WIDTH_HZ = 100_000
# Assumptions: packs mix one another's carriers within this distance, and send the product so far below what came.
MIXING_DISTANCE_M = 3.0
TURNAROUND_DB = 20.0


@dataclass(frozen=True, slots=True)
class Products:
    """Third-order products: ``frequency_hz`` and ``level_dbm``, [products]."""

    frequency_hz: NDArray[np.int64]
    level_dbm: NDArray[np.float64]


def front_end_products(frequency_hz: NDArray[np.int64], level_dbm: NDArray[np.float64]) -> Products:
    """The products of a front end that carriers [carriers] reach, referred to its input; the strongest twelve count.

    Of several on one frequency the strongest stands for all.
    """
    loudest = np.argsort(-level_dbm, kind="stable")
    each = loudest[np.sort(np.unique(frequency_hz[loudest], return_index=True)[1])]
    strong = each[level_dbm[each] > STRONG_DBM][:STRONGEST]
    hz, dbm = frequency_hz[strong], level_dbm[strong]
    a, b = np.nonzero(~np.eye(len(strong), dtype=np.bool_))
    makers = np.arange(len(strong))
    first, second, third = (each.ravel() for each in np.meshgrid(makers, makers, makers, indexing="ij"))
    distinct = (first < second) & (third != first) & (third != second)
    p, q, r = first[distinct], second[distinct], third[distinct]
    return Products(
        np.concatenate([2 * hz[a] - hz[b], hz[p] + hz[q] - hz[r]]),
        np.concatenate(
            [
                two_signal_product_dbm(dbm[a], dbm[b], INTERCEPT_DBM),
                three_signal_product_dbm(dbm[p], dbm[q], dbm[r], INTERCEPT_DBM),
            ]
        ),
    )


class Interference:
    """Who is beside whom, and whose products fall where; found anew whenever a frequency changed."""

    def __init__(self, rows: int, packs: int) -> None:
        self._passes = np.zeros((rows, packs))
        self._makers = np.empty((0, 2), dtype=np.intp)
        self._victims = np.empty(0, dtype=np.intp)
        self._tuned_hz = np.zeros(rows, dtype=np.int64)
        self._key = (b"", b"", b"")

    def tune(self, tuned_hz: NDArray[np.int64], frequency_hz: NDArray[np.int64], on: NDArray[np.bool_]) -> None:
        """Take the frequencies of carriers [rows] and packs [packs], and which of these are on the air."""
        key = (tuned_hz.tobytes(), frequency_hz.tobytes(), on.tobytes())
        if key == self._key:
            return
        self._key = key
        offset = np.abs(tuned_hz[:, np.newaxis] - frequency_hz[np.newaxis, :])
        beside = (offset >= CAPTURE_HALF_WIDTH_HZ) & (offset <= REACH_HZ) & on
        self._passes = np.where(beside, mw_from_dbm(selectivity_db(offset)), 0.0)
        self._tuned_hz = tuned_hz
        self._find_mixing(frequency_hz, np.flatnonzero(on))

    def _find_mixing(self, frequency_hz: NDArray[np.int64], on: NDArray[np.intp]) -> None:
        order = np.argsort(self._tuned_hz, kind="stable")
        ordered = self._tuned_hz[order]
        product_hz = 2 * frequency_hz[on][:, np.newaxis] - frequency_hz[on][np.newaxis, :]
        low = np.searchsorted(ordered, product_hz - PRODUCT_HALF_WIDTH_HZ, side="right")
        high = np.searchsorted(ordered, product_hz + PRODUCT_HALF_WIDTH_HZ, side="left")
        apart = np.abs(frequency_hz[on][:, np.newaxis] - frequency_hz[on][np.newaxis, :]) >= CAPTURE_HALF_WIDTH_HZ
        counts = np.where(apart, np.maximum(high - low, 0), 0)
        makers = np.argwhere(counts > 0)
        each = counts[counts > 0]
        places = np.repeat(low[counts > 0], each) + np.arange(each.sum()) - np.repeat(np.cumsum(each) - each, each)
        self._makers = on[np.repeat(makers, each, axis=0)].reshape(-1, 2)
        self._victims = order[places]

    def adjacent_mw(self, levels_mw: NDArray[np.float64], antenna: NDArray[np.intp]) -> NDArray[np.float64]:
        """What comes through the filters from beside, [rows, branches]; ``levels_mw`` is [antennas + 1, packs]."""
        return np.stack(
            [np.einsum("rp,rp->r", self._passes, levels_mw[antenna[:, branch]]) for branch in range(antenna.shape[1])],
            axis=1,
        )

    def mixed_mw(
        self, levels_dbm: NDArray[np.float64], emission: Emission, antenna: NDArray[np.intp]
    ) -> NDArray[np.float64]:
        """What products of neighbouring packs bring to each carrier, [rows, branches]."""
        brought_mw = np.zeros(antenna.shape)
        maker, other = self._makers[:, 0], self._makers[:, 1]
        apart_m = np.sqrt(((emission.position_m[maker] - emission.position_m[other]) ** 2).sum(axis=1))
        close = apart_m < MIXING_DISTANCE_M
        if not close.any():
            return brought_mw
        maker, other, victim = maker[close], other[close], self._victims[close]
        loss_db = free_space_loss_db(
            np.maximum(apart_m[close], NEAREST_M), emission.sent.frequency_hz[other].astype(float)
        )
        sent_dbm = emission.sent.eirp_dbm[other] - loss_db - TURNAROUND_DB
        way_db = levels_dbm[antenna[victim], maker[:, np.newaxis]] - emission.sent.eirp_dbm[maker][:, np.newaxis]
        np.add.at(brought_mw, victim, mw_from_dbm(sent_dbm[:, np.newaxis] + way_db))
        return brought_mw
