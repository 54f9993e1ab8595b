"""What a receiver's filters leave of a signal beside its channel."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Assumption: a plausible receiver of 200 kHz channels; offset from its own frequency and what is left, in dB.
OFFSETS_HZ = (0.0, 75e3, 150e3, 200e3, 300e3, 400e3, 600e3, 1_000e3)
LEFT_DB = (0.0, 0.0, -15.0, -35.0, -50.0, -60.0, -70.0, -80.0)
# Beyond the table nothing is left in the channel itself; what a strong signal does there is the front end's affair.
REACH_HZ = OFFSETS_HZ[-1]


def selectivity_db(offset_hz: ArrayLike) -> NDArray[np.float64]:
    """What is left, in dB at most 0, of a signal at an offset to either side; beyond 1 MHz it stays at the last."""
    offset = np.abs(np.asarray(offset_hz, dtype=np.float64))
    return np.asarray(np.interp(offset, OFFSETS_HZ, LEFT_DB))
