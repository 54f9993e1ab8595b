"""Third-order products of something that is not quite linear: a front end, or an output stage beside another pack.

Powers and the intercept point are referred to the same place, usually a receiver's input.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Three carriers beat twice as strongly, in amplitude, as two do: 20 log10 2.
TRIPLE_BEAT_DB = 20.0 * float(np.log10(2.0))


def two_signal_product_dbm(twice_dbm: ArrayLike, once_dbm: ArrayLike, intercept_dbm: float) -> NDArray[np.float64]:
    """Level of 2A - B in dBm, shapes broadcast: 2 Pa + Pb - 2 IIP3.

    It rises by 3 dB for each dB of both. It holds well below the intercept only, where the cubic term is small.
    """
    twice = np.asarray(twice_dbm, dtype=np.float64)
    return np.asarray(2.0 * twice + np.asarray(once_dbm, dtype=np.float64) - 2.0 * intercept_dbm)


def three_signal_product_dbm(
    first_dbm: ArrayLike, second_dbm: ArrayLike, third_dbm: ArrayLike, intercept_dbm: float
) -> NDArray[np.float64]:
    """Level of A + B - C in dBm, shapes broadcast: the sum of the three less 2 IIP3, and 6.02 dB more."""
    total = sum(np.asarray(each, dtype=np.float64) for each in (first_dbm, second_dbm, third_dbm))
    return np.asarray(total - 2.0 * intercept_dbm + TRIPLE_BEAT_DB)


def spurious_free_range_db(intercept_dbm: float, noise_dbm: float) -> float:
    """How far two equal carriers may rise above the noise until their product does, in dB: two thirds of IIP3 - N."""
    return 2.0 / 3.0 * (intercept_dbm - noise_dbm)
