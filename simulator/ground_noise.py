"""What packs pick up beside voices: the stage's rumble, wind, the rub of clothes when their wearers move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.luck import Luck, NormalDraws
from simulator.scenario import Zone

# Assumptions: how rumble and rub spread from block to block, and how gusts come and go, over some three seconds.
RUMBLE_SPREAD_DB = 0.5
GUST_SPREAD_DB = 5.0
RUB_DBFS = -86.0
RUB_SPREAD_DB = 3.0
RUBBING_M_S = 0.5
_GUST_KEEPS = 0.97
_NO_RUB_DBFS = -200.0


@dataclass(frozen=True, slots=True)
class Ground:
    """Levels in one block before any low-cut, at input trim 0, [packs]."""

    rumble_dbfs: NDArray[np.float64]
    wind_dbfs: NDArray[np.float64]
    rub_dbfs: NDArray[np.float64]


class GroundNoise:
    """The noises of all packs; ``zones`` are those that they are in."""

    def __init__(self, packs: Sequence[str], zones: Sequence[Zone], luck: Luck) -> None:
        self._rumble_dbfs = np.array([zone.rumble_dbfs for zone in zones])
        self._wind_dbfs = np.array([zone.wind_dbfs for zone in zones])
        self._draws = NormalDraws([luck.generator(f"rumble of {pack}") for pack in packs], (3,))
        self._gust = np.zeros(len(packs))

    def take(self, speed_m_s: NDArray[np.float64]) -> Ground:
        """The noises of the next block, in which wearers move that fast."""
        rumble, gust, rub = self._draws.take().T
        self._gust = _GUST_KEEPS * self._gust + np.sqrt(1.0 - _GUST_KEEPS**2) * gust
        return Ground(
            self._rumble_dbfs + RUMBLE_SPREAD_DB * rumble,
            self._wind_dbfs + GUST_SPREAD_DB * self._gust,
            np.where(speed_m_s >= RUBBING_M_S, RUB_DBFS + RUB_SPREAD_DB * rub, _NO_RUB_DBFS),
        )
