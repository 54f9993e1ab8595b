"""How the levels of plain noise are spread, so that a low one among them tells their mean.

A level is the mean power of so many independent looks at the noise: gamma distributed, and for a single look
exponential (the amplitude is then Rayleigh distributed). The median of several sweeps is narrower again. Textbook; the
quantile of a gamma distribution is Wilson and Hilferty's, which is within 0.12 dB from the fifth part up.
"""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np

LOOKS = np.geomspace(1.0, 1_000.0, 61)
"""Fewer than one there are not, and more than a thousand move by no more than 0.15 dB."""
_NORMAL = NormalDist()


def quantile_db(share: float, looks: float, sweeps: int = 1) -> float:
    """The level below which that share of the noise lies, in dB beside the mean power of a look.

    ``sweeps`` is how many sweeps each level is the median of. A share of 0 or 1 has no quantile: ValueError.
    """
    if not 0.0 < share < 1.0:
        raise ValueError("a share lies between 0 and 1")
    if math.isinf(looks):
        return 0.0
    deviate = _NORMAL.inv_cdf(_of_the_median(share, sweeps))
    cube_root = 1.0 - 1.0 / (9.0 * looks) + deviate / (3.0 * math.sqrt(looks))
    return 30.0 * math.log10(max(cube_root, 1e-3))


def looks_of_spread(spread_db: float, low: float, high: float, sweeps: int = 1) -> float:
    """The looks of noise whose quantiles ``low`` and ``high`` lie so far apart; infinite for no spread."""
    spreads = [quantile_db(high, looks, sweeps) - quantile_db(low, looks, sweeps) for looks in LOOKS]
    if spread_db < spreads[-1]:
        return math.inf
    return float(np.exp(np.interp(-spread_db, np.negative(spreads), np.log(LOOKS))))


def highest_db(levels: int, looks: float, chance: float) -> float:
    """What the highest of so many levels of noise passes with that chance, in dB above their mean power."""
    return quantile_db(1.0 - chance / max(levels, 1), looks)


def _of_the_median(share: float, sweeps: int) -> float:
    """Which share of single levels lies below the quantile of the medians of several sweeps.

    The median of uniform numbers has a variance of 1 / (4 (sweeps + 2)); its distribution is taken as normal.
    """
    if sweeps < 2:
        return share
    return min(max(0.5 + 0.5 * _NORMAL.inv_cdf(share) / math.sqrt(sweeps + 2.0), 1e-6), 1.0 - 1e-6)
