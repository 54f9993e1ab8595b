"""Indoor path loss by ITU-R P.1238, whose model changed: each edition's form has a function of its own.

The coefficients are those of P.1238-11, table 2, as reported by one secondary source; nobody here has compared them
with a later edition. Office and corridor within sight lie below free space: walls guide the wave.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

_HZ_PER_MHZ = 1e6
_HZ_PER_GHZ = 1e9
_OLD_FORM_CONSTANT_DB = 28.0
_OLD_FORM_NEAREST_M = 1.0


@dataclass(frozen=True, slots=True)
class IndoorPlace:
    """Coefficients of one environment, and the frequencies and distances they were measured for.

    ``distance_slope`` and ``frequency_slope`` count tens of dB a decade, ``offset_db`` is the loss at 1 m and 1 GHz,
    ``spread_db`` the standard deviation about the median.
    """

    distance_slope: float
    offset_db: float
    frequency_slope: float
    spread_db: float
    frequency_hz: tuple[float, float]
    distance_m: tuple[float, float]

    def covers(self, distance_m: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.bool_]:
        """Where distance and frequency lie within what was measured; beyond, the loss is a guess."""
        distance, frequency = np.asarray(distance_m), np.asarray(frequency_hz)
        near = (self.distance_m[0] <= distance) & (distance <= self.distance_m[1])
        return np.asarray(near & (self.frequency_hz[0] <= frequency) & (frequency <= self.frequency_hz[1]))


INDOOR_PLACES: Mapping[str, IndoorPlace] = MappingProxyType(
    {
        "office within sight": IndoorPlace(1.46, 34.62, 2.03, 3.76, (0.3e9, 83.5e9), (2.0, 27.0)),
        "office out of sight": IndoorPlace(2.46, 29.53, 2.38, 5.04, (0.3e9, 82e9), (4.0, 30.0)),
        "corridor within sight": IndoorPlace(1.63, 28.12, 2.25, 4.07, (0.3e9, 83.5e9), (2.0, 160.0)),
        "corridor out of sight": IndoorPlace(2.77, 29.27, 2.48, 7.63, (0.625e9, 83.5e9), (4.0, 94.0)),
        "industrial within sight": IndoorPlace(2.31, 24.52, 2.06, 2.69, (0.625e9, 70.28e9), (2.0, 101.0)),
        "industrial out of sight": IndoorPlace(3.79, 21.01, 1.34, 9.05, (0.625e9, 70.28e9), (5.0, 108.0)),
    }
)


def site_general_loss_db(place: IndoorPlace, distance_m: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """Median loss indoors in dB, shapes broadcast: the site-general form of P.1238-10 (2019) and later.

    10 a log10 d + b + 10 g log10 f, d in metres, f in GHz. Raises ValueError where either is not above zero.
    """
    distance, frequency = _above_zero(distance_m, frequency_hz)
    by_distance_db = 10.0 * place.distance_slope * np.log10(distance)
    return np.asarray(
        by_distance_db + place.offset_db + 10.0 * place.frequency_slope * np.log10(frequency / _HZ_PER_GHZ)
    )


def old_form_loss_db(
    distance_coefficient: float, distance_m: ArrayLike, frequency_hz: ArrayLike, floors_db: float = 0.0
) -> NDArray[np.float64]:
    """Median loss indoors in dB, shapes broadcast: the form of P.1238-9 and before.

    20 log10 f + N log10 d + floors - 28, d in metres above 1, f in MHz. Raises ValueError where a distance is not above
    1 m, a frequency not above zero, or a coefficient or floors' loss is negative.
    """
    distance, frequency = _above_zero(distance_m, frequency_hz)
    if np.any(distance <= _OLD_FORM_NEAREST_M) or distance_coefficient < 0.0 or floors_db < 0.0:
        raise ValueError("distances must be above 1 m, coefficient and floors' loss at least zero")
    by_frequency_db = 20.0 * np.log10(frequency / _HZ_PER_MHZ)
    return np.asarray(by_frequency_db + distance_coefficient * np.log10(distance) + floors_db - _OLD_FORM_CONSTANT_DB)


def _above_zero(distance_m: ArrayLike, frequency_hz: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    distance = np.asarray(distance_m, dtype=np.float64)
    frequency = np.asarray(frequency_hz, dtype=np.float64)
    if not (np.all(distance > 0.0) and np.all(frequency > 0.0)):
        raise ValueError("distance and frequency must be above zero")
    return distance, frequency
