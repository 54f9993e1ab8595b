"""One sample of every channel for the recent past, taken from the live tables."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.readings import LiveTables, packs_asleep
from fleet.row_map import RowMap, gather

SPEECH_FROM_DBFS = -45.0
"""An audio level from which a row counts as speaking; common practice."""
SPEECH_FROM_DBU = SPEECH_FROM_DBFS + 18.0
"""The same at an analog output, full scale being +18 dBu (EBU R 68)."""
DEAF_BELOW_DB = 20.0
"""A branch so far below the better one, for a second on end, is deaf; common practice: fades as deep are brief."""
DEAF_TICKS = 10
BRANCHES_MAXIMUM = 7
"""Branches of one carrier that have a bit of their own; further ones are not told apart."""
ASLEEP_BIT = 128
"""Set beside the bits of the branches while the pack sleeps."""


@dataclass(frozen=True, slots=True)
class Sample:
    """What holds now, for each channel; NaN where a level is absent or not good.

    ``deaf_bits`` has a bit for each deaf branch, or ``ASLEEP_BIT`` alone while the pack sleeps.
    """

    level_dbm: NDArray[np.float64]
    worst_dbm: NDArray[np.float64]
    damage_fraction: NDArray[np.float64]
    speaks: NDArray[np.bool_]
    reports: NDArray[np.bool_]
    deaf_bits: NDArray[np.uint8]


class Sampler:
    """Takes samples, and counts for how long each branch has been far below its better neighbour."""

    def __init__(self) -> None:
        self._deaf_ticks: NDArray[np.int32] = np.zeros((0, BRANCHES_MAXIMUM), dtype=np.int32)

    def sample(self, tables: LiveTables, rows: RowMap) -> Sample:
        """The sample of this tick."""
        branch, channel = tables[Place.BRANCH], tables[Place.CHANNEL]
        branch_rows = rows.branch_rows[Place.CHANNEL][:, :BRANCHES_MAXIMUM]
        levels = gather(branch.good("rf_dbm"), branch_rows, np.nan)
        least = gather(branch.good("rf_min_dbm"), branch_rows, np.nan)
        best = np.fmax.reduce(levels, axis=1, initial=np.nan)
        least = np.where(np.isnan(least), levels, least)
        spoken = (channel.good("rms_dbfs") > SPEECH_FROM_DBFS) | (channel.good("rms_dbu") > SPEECH_FROM_DBU)
        asleep = gather(packs_asleep(tables), rows.pack_row, False)
        damage = np.fmax(channel.good("audio_damage_fraction"), 0.0)
        return Sample(
            level_dbm=best,
            worst_dbm=np.fmax.reduce(least, axis=1, initial=np.nan),
            damage_fraction=np.where(asleep, 0.0, damage),  # Silence that was asked for is no damage.
            speaks=spoken,
            reports=~np.isnan(best),
            deaf_bits=np.where(asleep, ASLEEP_BIT, self._deaf(levels, best)).astype(np.uint8),
        )

    def _deaf(self, levels: NDArray[np.float64], best: NDArray[np.float64]) -> NDArray[np.uint8]:
        rows, branches = levels.shape
        more = rows - self._deaf_ticks.shape[0]
        if more > 0:
            self._deaf_ticks = np.pad(self._deaf_ticks, ((0, more), (0, 0)))
        far = best[:, np.newaxis] - levels > DEAF_BELOW_DB
        ticks = self._deaf_ticks[:, :branches]
        ticks[:] = np.where(far, np.minimum(ticks + 1, DEAF_TICKS), 0)
        bits = (ticks >= DEAF_TICKS) << np.arange(branches)
        summed: NDArray[np.uint8] = bits.sum(axis=1).astype(np.uint8)
        return summed
