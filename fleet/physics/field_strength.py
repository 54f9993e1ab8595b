"""Field strength in dB above one microvolt a metre, and the powers that go with it.

A broadcaster's coverage is stated so. A table for 1 kW e.r.p. already holds the dipole's 2.15 dB: its e.i.r.p. is
62.15 dBm, and nothing is added again.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fleet.physics.propagation import SPEED_OF_LIGHT_M_S

# The impedance of free space, to which the SI of 2019 gives this value within two parts in 10^10.
FREE_SPACE_OHM = 376.730313
_FEEDER_OHM = 50.0


def received_dbm(field_dbuv_m: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """Power in dBm that a matched lossless isotropic antenna takes from a field (ITU-R P.525), shapes broadcast.

    A gain comes on top; a half-wave dipole's is 2.15 dB. Raises ValueError where a frequency is not above zero.
    """
    density_w_m2 = 10.0 ** ((np.asarray(field_dbuv_m, dtype=np.float64) - 120.0) / 10.0) / FREE_SPACE_OHM
    wavelength_m = SPEED_OF_LIGHT_M_S / _above_zero(frequency_hz, "a frequency")
    return np.asarray(10.0 * np.log10(density_w_m2 * wavelength_m**2 / (4.0 * np.pi)) + 30.0)


def field_dbuv_m(eirp_dbm: ArrayLike, distance_m: ArrayLike) -> NDArray[np.float64]:
    """Field that an e.i.r.p. makes over a distance in free space (ITU-R P.525), shapes broadcast.

    Raises ValueError where a distance is not above zero.
    """
    power_w = 10.0 ** (np.asarray(eirp_dbm, dtype=np.float64) / 10.0) / 1_000.0
    density_w_m2 = power_w / (4.0 * np.pi * _above_zero(distance_m, "a distance") ** 2)
    return np.asarray(10.0 * np.log10(density_w_m2 * FREE_SPACE_OHM) + 120.0)


def dbm_from_dbuv(voltage_dbuv: ArrayLike) -> NDArray[np.float64]:
    """Power in dBm of a voltage in dB above a microvolt across 50 ohms."""
    voltage_v = 10.0 ** ((np.asarray(voltage_dbuv, dtype=np.float64) - 120.0) / 20.0)
    return np.asarray(10.0 * np.log10(voltage_v**2 / _FEEDER_OHM) + 30.0)


def _above_zero(values: ArrayLike, what: str) -> NDArray[np.float64]:
    found = np.asarray(values, dtype=np.float64)
    if not np.all(found > 0.0):
        raise ValueError(f"{what} must be above zero")
    return found
