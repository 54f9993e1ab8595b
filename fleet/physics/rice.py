"""What theory says of fading beside a direct path (Rice 1944/45): how much of the time it is how deep.

Levels are about the mean of the whole power, in dB; K is the direct path's power over that of the scattered ones.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fleet.physics.gamma import gamma_shares, poisson_shares, terms_of

# Beyond 30 dB nothing fades that anybody would notice, and the series becomes long.
GREATEST_K = 1_000.0
_LOWEST_DB, _HIGHEST_DB = -120.0, 20.0
_HALVINGS = 60


def rice_share_below(level_db: ArrayLike, rician_k: float) -> NDArray[np.float64]:
    """Share of the time below a level: 1 - Q1(sqrt(2K), sqrt(2(K+1)x)), same shape; K = 0 is Rayleigh fading.

    The power is a gamma variable whose order is one more than a Poisson variable of mean K: a sum of positive terms,
    which is exact where fades are deep. Raises ValueError at a K below zero or above a thousand.
    """
    if not 0.0 <= rician_k <= GREATEST_K:
        raise ValueError("a Rician K is a ratio of powers from 0 to 1000")
    orders = terms_of(rician_k)
    certain = float(terms_of(orders))
    above = np.minimum((rician_k + 1.0) * 10.0 ** (np.asarray(level_db, dtype=np.float64) / 10.0), certain)
    return np.asarray(gamma_shares(above, orders) @ poisson_shares(rician_k, orders))


def rice_level_db(share: float, rician_k: float) -> float:
    """The level that is undercut for a share of the time: what a margin must cover, with its sign.

    By halving, to 1e-9 dB, between -120 and 20 dB. Raises ValueError at a share that lies outside these levels, or at
    a K out of range.
    """
    low, high = _LOWEST_DB, _HIGHEST_DB
    if not rice_share_below(low, rician_k) < share < rice_share_below(high, rician_k):
        raise ValueError("a share of the time lies between 0 and 1, and within levels of -120 and 20 dB")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if rice_share_below(middle, rician_k) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
