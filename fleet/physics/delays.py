"""What delays do: two copies of one voice, the way of sound through air, sound beside its picture.

One voice over an analog and a digital link arrives twice, some milliseconds apart; their sum is a comb.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray

SPEED_OF_SOUND_M_S = 343.2  # In air of 20 degrees.
# Sound before the picture, in milliseconds, negative when it comes after: where it is noticed, and where it is too much
# (ITU-R BT.1359-1, 1998). Common practice is +40 to -60, which lies within the first.
NOTICED_MS = (45.0, -125.0)
UNACCEPTABLE_MS = (90.0, -185.0)

Sync = Literal["unnoticed", "noticed", "unacceptable"]


def notches_hz(apart_s: float, count: int) -> NDArray[np.float64]:
    """The lowest notches of two equal copies that far apart: odd multiples of 1 / 2 tau.

    Raises ValueError at copies not apart or a count below one.
    """
    if apart_s <= 0.0 or count < 1:
        raise ValueError("copies are apart by more than nothing, and a comb has at least one notch")
    return np.asarray((2.0 * np.arange(count) + 1.0) / (2.0 * apart_s))


def peak_and_dip_db(copy_db: float) -> tuple[float, float]:
    """How much a delayed copy, so many dB about the first, lifts and lowers their sum at the worst frequencies.

    Raises ValueError where the copy is as loud or louder: as loud, they cancel wholly at the notches.
    """
    if copy_db >= 0.0:
        raise ValueError("a copy is quieter than the first: its level is below 0 dB")
    copy = 10.0 ** (copy_db / 20.0)
    return 20.0 * math.log10(1.0 + copy), 20.0 * math.log10(1.0 - copy)


def sound_delay_s(distance_m: float) -> float:
    """How long sound takes over a distance in air of 20 degrees. Raises ValueError at a negative distance."""
    if distance_m < 0.0:
        raise ValueError("a distance is at least zero")
    return distance_m / SPEED_OF_SOUND_M_S


def picture_sync(sound_early_ms: float) -> Sync:
    """How sound so much before its picture (negative: after it) is judged by ITU-R BT.1359-1; a limit itself holds."""
    if not UNACCEPTABLE_MS[1] <= sound_early_ms <= UNACCEPTABLE_MS[0]:
        return "unacceptable"
    if not NOTICED_MS[1] <= sound_early_ms <= NOTICED_MS[0]:
        return "noticed"
    return "unnoticed"
