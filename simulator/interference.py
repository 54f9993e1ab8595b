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
    """Who is beside whom, found anew whenever a frequency changed, and whose products fall where."""

    def __init__(self, rows: int, packs: int) -> None:
        self._passes = np.zeros((rows, packs))
        self._order = np.arange(rows)
        self._ordered_hz = np.zeros(rows, dtype=np.int64)
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
        self._order = np.argsort(tuned_hz, kind="stable")
        self._ordered_hz = tuned_hz[self._order]

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
        maker, other = _close_pairs(emission)
        maker, other, victim = self._victims_of(maker, other, emission.sent.frequency_hz)
        if not victim.size:
            return brought_mw
        apart_m = np.sqrt(((emission.position_m[maker] - emission.position_m[other]) ** 2).sum(axis=1))
        frequency_hz = emission.sent.frequency_hz[other].astype(float)
        loss_db = free_space_loss_db(np.maximum(apart_m, NEAREST_M), frequency_hz)
        sent_dbm = emission.sent.eirp_dbm[other] - loss_db - TURNAROUND_DB
        way_db = levels_dbm[antenna[victim], maker[:, np.newaxis]] - emission.sent.eirp_dbm[maker][:, np.newaxis]
        np.add.at(brought_mw, victim, mw_from_dbm(sent_dbm[:, np.newaxis] + way_db))
        return brought_mw

    def _victims_of(
        self, maker: NDArray[np.intp], other: NDArray[np.intp], frequency_hz: NDArray[np.int64]
    ) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
        """The makers again, once for each row whose channel their product 2A - B falls on, and those rows."""
        product_hz = 2 * frequency_hz[maker] - frequency_hz[other]
        low = np.searchsorted(self._ordered_hz, product_hz - PRODUCT_HALF_WIDTH_HZ, side="right")
        high = np.searchsorted(self._ordered_hz, product_hz + PRODUCT_HALF_WIDTH_HZ, side="left")
        counts = np.maximum(high - low, 0)
        places = np.repeat(low - np.cumsum(counts) + counts, counts) + np.arange(counts.sum())
        return np.repeat(maker, counts), np.repeat(other, counts), self._order[places]


def _close_pairs(emission: Emission) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Packs on the air, apart in frequency, so close together that each mixes what the other sends; both ways round."""
    on = np.flatnonzero(emission.sent.on)
    on = on[np.argsort(emission.position_m[on, 0], kind="stable")]
    along_m = emission.position_m[on, 0]
    reach = np.searchsorted(along_m, along_m + MIXING_DISTANCE_M, side="left")
    counts = reach - np.arange(len(on)) - 1
    first = np.repeat(np.arange(len(on)), counts)
    second = first + 1 + np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    a, b = on[first], on[second]
    apart_m = np.sqrt(((emission.position_m[a] - emission.position_m[b]) ** 2).sum(axis=1))
    hz = emission.sent.frequency_hz
    mixes = (apart_m < MIXING_DISTANCE_M) & (np.abs(hz[a] - hz[b]) >= CAPTURE_HALF_WIDTH_HZ)
    return np.concatenate([a[mixes], b[mixes]]), np.concatenate([b[mixes], a[mixes]])
