"""What a needle shows: programme meters that rise fast and fall slowly, and one pole in the place of a VU.

Levels of the fleet are told without ballistics (see levels.py); this is for comparing them with a meter on a desk.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class ProgrammeMeter:
    """A quasi-peak meter: a rectifier that charges a store through a resistance, and a store that leaks.

    ``charge_s`` is the time constant of charging, an assumption fitted to the bursts of its standard; ``return_db`` is
    how far it falls in ``return_s``, which the standard says.
    """

    charge_s: float
    return_db: float
    return_s: float


# IEC 60268-10, type IIa, as reported: 24 dB in 2.8 s. The charge is fitted to its burst table.
TYPE_IIA = ProgrammeMeter(charge_s=0.00225, return_db=24.0, return_s=2.8)


def programme_levels(samples: NDArray[np.float64], rate_hz: float, meter: ProgrammeMeter) -> NDArray[np.float64]:
    """What the store holds after each sample, in units of the samples; a steady sine comes to nearly its peak.

    Raises ValueError at a rate so low that the store would overshoot, which is one over the charge.
    """
    if rate_hz * meter.charge_s <= 1.0:
        raise ValueError("samples must come more often than the meter charges")
    share = 1.0 / (rate_hz * meter.charge_s)
    leak = 10.0 ** (-meter.return_db / 20.0 / (meter.return_s * rate_hz))
    held = 0.0
    levels = np.empty(samples.size)
    for place, size in enumerate(np.abs(samples).tolist()):
        held *= leak
        held += share * max(size - held, 0.0)
        levels[place] = held
    return levels


def settling_constant_s(within_s: float, share: float) -> float:
    """Time constant of one pole that comes to that share of a step within that time.

    It has no overshoot, so that it is no true VU meter. Raises ValueError at a share not between 0 and 1 or a time not
    above zero.
    """
    if within_s <= 0.0 or not 0.0 < share < 1.0:
        raise ValueError("a time must be above zero and a share between 0 and 1")
    return -within_s / math.log1p(-share)
