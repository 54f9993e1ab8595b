"""Powers and their decibels, and the three ways in which a transmitter's power is stated."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

# What rules count for a half-wave dipole; its exact directivity is 4 / Cin(2 pi) = 1.64092, or 2.1509 dBi.
HALF_WAVE_DIPOLE_DBI = 2.15


def dbm_from_mw(power_mw: ArrayLike) -> NDArray[np.float64]:
    """Powers in milliwatts as dBm, of the same shape.

    Raises ValueError where a power is not above zero.
    """
    power = np.asarray(power_mw, dtype=np.float64)
    if not np.all(power > 0.0):
        raise ValueError("a power in milliwatts must be above zero to have decibels")
    return 10.0 * np.log10(power)


def mw_from_dbm(power_dbm: ArrayLike) -> NDArray[np.float64]:
    """Powers in dBm as milliwatts, of the same shape."""
    return np.asarray(10.0 ** (np.asarray(power_dbm, dtype=np.float64) / 10.0))


def eirp_dbm_from_erp_mw(erp_mw: float) -> float:
    """Effective radiated power, which compares with a half-wave dipole, as dBm above an isotropic radiator.

    Radio Regulations, article 1: e.r.p. and e.i.r.p. differ by the dipole's gain. Raises ValueError at zero and below.
    """
    if erp_mw <= 0.0:
        raise ValueError("a radiated power must be above zero")
    return 10.0 * math.log10(erp_mw) + HALF_WAVE_DIPOLE_DBI


def erp_mw_from_eirp_mw(eirp_mw: float) -> float:
    """Effective radiated power of a power above an isotropic radiator, both in milliwatts.

    Radio Regulations, article 1. Raises ValueError at zero and below.
    """
    if eirp_mw <= 0.0:
        raise ValueError("a radiated power must be above zero")
    over_isotropic: float = 10.0 ** (HALF_WAVE_DIPOLE_DBI / 10.0)
    return eirp_mw / over_isotropic


def sum_db(*levels_db: ArrayLike) -> NDArray[np.float64]:
    """The level of several powers that do not know of one another: ten times the logarithm of their sum."""
    total = sum(10.0 ** (np.asarray(level, dtype=np.float64) / 10.0) for level in levels_db)
    return np.asarray(10.0 * np.log10(total))
