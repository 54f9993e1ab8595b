"""Audio levels. 0 dBFS is the rms of a full-scale sine (AES17), so that a sine reads the same on peak and rms."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

DIGITAL_SILENCE_DBFS = -144.0
ALIGNMENT_DBU = 18.0  # EBU R 68: -18 dBFS is 0 dBu.
ZERO_DBU_V = math.sqrt(0.6)  # One milliwatt in 600 ohms.


def peak_dbfs(samples: NDArray[np.float64]) -> float:
    """Greatest sample of a signal whose full scale is 1.0, in dBFS; silence is -144, never minus infinity."""
    return _dbfs(float(np.max(np.abs(samples), initial=0.0)))


def rms_dbfs(samples: NDArray[np.float64]) -> float:
    """Root mean square of a signal whose full scale is 1.0, in dBFS; a full-scale sine reads 0.00."""
    if samples.size == 0:
        return DIGITAL_SILENCE_DBFS
    return _dbfs(math.sqrt(2.0 * float(np.mean(samples**2))))


def dbu_from_dbfs(level_dbfs: ArrayLike) -> NDArray[np.float64]:
    """Level at an analog output that is aligned by EBU R 68."""
    return np.asarray(np.asarray(level_dbfs, dtype=np.float64) + ALIGNMENT_DBU)


def volts_from_dbu(level_dbu: float) -> float:
    """Rms voltage of a level in dBu."""
    return float(ZERO_DBU_V * 10.0 ** (level_dbu / 20.0))


def _dbfs(amplitude: float) -> float:
    if amplitude <= 0.0:
        return DIGITAL_SILENCE_DBFS
    return max(DIGITAL_SILENCE_DBFS, 20.0 * math.log10(amplitude))
