"""Which packs each carrier can hear, as ways from pack to carrier, and what becomes of several on one carrier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.luck import Luck

# Assumption: a receiver holds on to a pack that is less than this beside its own frequency.
CAPTURE_HALF_WIDTH_HZ = 50_000
# What is so far below the best on a carrier changes neither its level nor its quality.
DROWNED_DB = 40.0
# So many moments of a pack's beat are drawn; then they come again.
_BEATS = 4_096


@dataclass(frozen=True, slots=True)
class Ways:
    """All ways in use, sorted by carrier: its row and the pack, [ways] each.

    ``lone`` are the numbers of those that have their carrier to themselves; the carriers that several packs are on are
    ``crowded``, [carriers], their ways ``crowd``, of which each carrier's begin at ``starts``.
    """

    rows: NDArray[np.intp]
    packs: NDArray[np.intp]
    lone: NDArray[np.intp]
    crowded: NDArray[np.intp]
    crowd: NDArray[np.intp]
    starts: NDArray[np.intp]


def near_packs(
    tuned_hz: NDArray[np.int64], frequency_hz: NDArray[np.int64], fitting: NDArray[np.bool_] | None
) -> NDArray[np.bool_]:
    """Which packs are near enough to each carrier to be heard there, [rows, packs], if they speak its language."""
    near: NDArray[np.bool_] = np.abs(tuned_hz[:, np.newaxis] - frequency_hz[np.newaxis, :]) < CAPTURE_HALF_WIDTH_HZ
    return near if fitting is None else near & fitting


def audible(near: NDArray[np.bool_], levels_dbm: NDArray[np.float64], antenna: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Of several packs near a carrier those that matter there, [rows, packs]: what is 40 dB below the best does not.

    ``levels_dbm`` [antennas + 1, packs] is what they bring to antennas, ``antenna`` [rows, branches] those of each row.
    """
    rows, packs = np.nonzero(near & (near.sum(axis=1) > 1)[:, np.newaxis])
    if not rows.size:
        return near
    brought_dbm = levels_dbm[antenna[rows], packs[:, np.newaxis]].max(axis=1)
    best_dbm = np.full(len(near), -np.inf)
    np.maximum.at(best_dbm, rows, brought_dbm)
    drowned = brought_dbm < best_dbm[rows] - DROWNED_DB
    heard = near.copy()
    heard[rows[drowned], packs[drowned]] = False
    return heard


def ways_of(near: NDArray[np.bool_]) -> Ways:
    """The ways of all packs that are near, and on the air."""
    rows, packs = np.nonzero(near)
    counts = near.sum(axis=1)
    alone = counts[rows] == 1
    crowd = np.flatnonzero(~alone)
    crowded, starts = np.unique(rows[crowd], return_index=True)
    return Ways(rows, packs, np.flatnonzero(alone), crowded, crowd, starts)


def winners(ways: Ways, each_mw: NDArray[np.float64]) -> NDArray[np.intp]:
    """For each crowded carrier the number of the way that brings most, by ``each_mw`` [crowd]."""
    most_mw = np.maximum.reduceat(each_mw, ways.starts)
    counts = np.diff(np.append(ways.starts, len(each_mw)))
    numbers = np.arange(len(each_mw))
    first = np.minimum.reduceat(np.where(each_mw == np.repeat(most_mw, counts), numbers, len(numbers)), ways.starts)
    return np.asarray(ways.crowd[first])


class Beats:
    """How carriers of packs on one frequency turn against one another: at random from moment to moment.

    Their oscillators are never so alike that it would be slower than a meter's samples; an assumption.
    """

    def __init__(self, names: Sequence[str], luck: Luck) -> None:
        self._names = names
        self._luck = luck
        self._drawn: dict[int, NDArray[np.complex128]] = {}

    def at(self, packs: NDArray[np.intp], moments: NDArray[np.intp]) -> NDArray[np.complex128]:
        """The turns of packs [ways] at moments [steps], which are counted from the world's beginning."""
        return np.stack([self._of(int(pack))[moments % _BEATS] for pack in packs])

    def _of(self, pack: int) -> NDArray[np.complex128]:
        if pack not in self._drawn:
            turns = self._luck.generator(f"beat of {self._names[pack]}").uniform(0.0, 2.0 * np.pi, _BEATS)
            self._drawn[pack] = np.exp(1j * turns)
        return self._drawn[pack]
