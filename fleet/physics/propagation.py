"""How a radio signal weakens on its way."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

SPEED_OF_LIGHT_M_S = 299_792_458.0


def free_space_loss_db(distance_m: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """Basic transmission loss in free space between isotropic antennas, in dB, shapes broadcast.

    ITU-R P.525: 20 log10(4 pi d / wavelength). It holds in the far field only; distances under a wavelength divided by
    2 pi would give a gain. Raises ValueError where a distance or frequency is not above zero.
    """
    distance = np.asarray(distance_m, dtype=np.float64)
    frequency = np.asarray(frequency_hz, dtype=np.float64)
    if not (np.all(distance > 0.0) and np.all(frequency > 0.0)):
        raise ValueError("distance and frequency must be above zero")
    return np.asarray(20.0 * np.log10(4.0 * np.pi * distance * frequency / SPEED_OF_LIGHT_M_S))
