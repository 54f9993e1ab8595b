"""What theory says of fading: how much of the time it is how deep, how often, and for how long.

Levels are powers about the mean power, in dB; 0 dB is the rms of the envelope (Rice 1944/45; Clarke 1968; Jakes 1974).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def rayleigh_share_below(level_db: ArrayLike) -> NDArray[np.float64]:
    """Share of the time that a Rayleigh-faded power is below a level: 1 - e^-x."""
    return np.asarray(-np.expm1(-_ratio(level_db)))


def rayleigh_level_db(share: ArrayLike) -> NDArray[np.float64]:
    """The level that is undercut for a share of the time, between 0 and 1. Raises ValueError elsewhere."""
    shares = np.asarray(share, dtype=np.float64)
    if np.any((shares <= 0.0) | (shares >= 1.0)):
        raise ValueError("a share of the time lies between 0 and 1")
    return np.asarray(10.0 * np.log10(-np.log1p(-shares)))


def crossing_rate_hz(level_db: ArrayLike, doppler_hz: ArrayLike) -> NDArray[np.float64]:
    """How often a second a Rayleigh-faded level is undercut: sqrt(2 pi) fd rho e^(-rho^2).

    Raises ValueError where the Doppler shift is negative; whoever stands still crosses nothing.
    """
    shift = np.asarray(doppler_hz, dtype=np.float64)
    if np.any(shift < 0.0):
        raise ValueError("a Doppler shift is at least zero")
    power = _ratio(level_db)
    return np.asarray(np.sqrt(2.0 * np.pi * power) * shift * np.exp(-power))


def fade_duration_s(level_db: ArrayLike, doppler_hz: ArrayLike) -> NDArray[np.float64]:
    """How long a fade below a level lasts on average, in seconds: the share of the time over the rate.

    Raises ValueError where the Doppler shift is not above zero: a fade that nobody walks out of has no end.
    """
    if np.any(np.asarray(doppler_hz) <= 0.0):
        raise ValueError("without a Doppler shift a fade has no end")
    return np.asarray(rayleigh_share_below(level_db) / crossing_rate_hz(level_db, doppler_hz))


def crossing_rate_of_two_hz(level_db: ArrayLike, doppler_hz: ArrayLike) -> NDArray[np.float64]:
    """The same rate for the better of two independent branches of equal mean: twice one's, while the other is below."""
    return np.asarray(2.0 * crossing_rate_hz(level_db, doppler_hz) * rayleigh_share_below(level_db))


def _ratio(level_db: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(10.0 ** (np.asarray(level_db, dtype=np.float64) / 10.0))
