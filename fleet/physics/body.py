"""What a wearer's body takes from a pack's signal, by direction.

Only the shape of it is known well enough to be said: a body only takes away, and most behind it. Every decibel here is
an assumption of whoever states the loss.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Assumption: in front of its wearer a pack still loses this share of what it loses behind.
FRONT_SHARE = 1.0 / 3.0


def body_shadow_db(azimuth_rad: ArrayLike, behind_db: ArrayLike) -> NDArray[np.float64]:
    """Loss in dB towards an azimuth off the wearer's face, shapes broadcast; ``behind_db`` is that straight behind.

    A third of it in front, all of it behind, and a cosine between: an assumption. Raises ValueError at a negative loss.
    """
    behind = np.asarray(behind_db, dtype=np.float64)
    if np.any(behind < 0.0):
        raise ValueError("a body takes away: its loss is at least 0 dB")
    turned_away = (1.0 - np.cos(np.asarray(azimuth_rad, dtype=np.float64))) / 2.0
    return np.asarray(behind * (FRONT_SHARE + (1.0 - FRONT_SHARE) * turned_away))
