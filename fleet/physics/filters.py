"""Magnitudes of filters."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def high_pass_db(frequency_hz: ArrayLike, corner_hz: float, order: int) -> NDArray[np.float64]:
    """Magnitude of a Butterworth high-pass in dB: -10 log10(1 + (corner / f)^(2 order)).

    Six decibels an octave for each order; -3.01 dB at the corner. A corner of 0 Hz is no filter. Raises ValueError at
    frequencies not above zero, a negative corner or an order under one.
    """
    frequency = np.asarray(frequency_hz, dtype=np.float64)
    if np.any(frequency <= 0.0) or corner_hz < 0.0 or order < 1:
        raise ValueError("frequencies must be above zero, a corner at least zero, an order at least one")
    return np.asarray(-10.0 * np.log10(1.0 + (corner_hz / frequency) ** (2 * order)))
