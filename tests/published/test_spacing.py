"""Likeness of two places against Clarke 1968: J0(2 pi d / wavelength) for fields, its square for powers.

Nothing is drawn: the world's own scatterers, 128 evenly around, are summed for two places; values of J0 are tabled.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize

from fleet.physics.fading import phases_of_place_rad, scatterer_angles_rad
from fleet.physics.propagation import SPEED_OF_LIGHT_M_S

SCATTERERS = 128
# Neither along a scatterer nor between two.
TURN, HEADING_RAD = 0.31, 0.7


def _likeness(apart_m: float, frequency_hz: float) -> float:
    """How like the fields of two places are that lie so far apart, over all phases that the scatterers may have."""
    angles = scatterer_angles_rad(TURN, SCATTERERS)
    place = apart_m * np.array([np.cos(HEADING_RAD), np.sin(HEADING_RAD)])
    return float(np.mean(np.exp(1j * phases_of_place_rad(angles, place, np.float64(frequency_hz)))).real)


def _by_wavelengths(wavelengths: float) -> float:
    return _likeness(wavelengths * SPEED_OF_LIGHT_M_S / 600e6, 600e6)


@pytest.mark.parametrize(
    ("wavelengths", "likeness"), [(0.1, 0.90371), (0.25, 0.47200), (0.5, -0.30424), (1.0, 0.22028)]
)
def test_fields(wavelengths: float, likeness: float) -> None:
    assert _by_wavelengths(wavelengths) == pytest.approx(likeness, abs=1e-5)


@pytest.mark.parametrize(("near", "zero"), [(0.4, 0.38274), (0.9, 0.87855), (1.4, 1.37728)])
def test_where_fields_are_unlike(near: float, zero: float) -> None:
    """Zeros of J0, in wavelengths."""
    found = optimize.brentq(_by_wavelengths, near - 0.1, near + 0.1)
    assert found == pytest.approx(zero, abs=1e-5)


def test_powers() -> None:
    """Their likeness at a quarter and half a wavelength; a half at 0.1793."""
    assert _by_wavelengths(0.25) ** 2 == pytest.approx(0.2228, abs=1e-4)
    assert _by_wavelengths(0.5) ** 2 == pytest.approx(0.0926, abs=1e-4)
    half = optimize.brentq(lambda wavelengths: _by_wavelengths(wavelengths) ** 2 - 0.5, 0.05, 0.3)
    assert half == pytest.approx(0.1793, abs=1e-4)


@pytest.mark.parametrize(("frequency_mhz", "apart_mm"), [(500, 229.5), (600, 191.2), (650, 176.5)])
def test_least_spacing_of_unlike_antennas(frequency_mhz: int, apart_mm: float) -> None:
    """The first zero, 0.3827 wavelengths, in millimetres."""
    found_m = optimize.brentq(lambda apart_m: _likeness(apart_m, frequency_mhz * 1e6), 0.1, 0.3)
    assert 1000.0 * found_m == pytest.approx(apart_mm, abs=0.1)
