"""Fading beside a direct path (Rice 1944/45): tabled values, an integral of Rice's density, and scipy's Rice."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, special, stats

from fleet.physics.rice import rice_level_db, rice_share_below

BELOW_DB = (-3.0, -6.0, -10.0, -20.0)
# K in dB: shares of the time below the levels above, and the levels at 1 and 0.1 %, about the mean total power.
TABLE = {
    0: ((0.34648, 0.18152, 0.073346, 0.0073573), (-18.667, -28.667)),
    3: ((0.29126, 0.13164, 0.046207, 0.0041330), (-16.246, -26.115)),
    6: ((0.21422, 0.068904, 0.016465, 9.9914e-4), (-11.546, -19.996)),
    10: ((0.09985, 0.011433, 7.387e-4, 7.791e-6), (-6.184, -9.520)),
}


@pytest.mark.parametrize("k_db", TABLE)
def test_share_below(k_db: int) -> None:
    """Printed digits agree to 1e-4 relative."""
    assert rice_share_below(BELOW_DB, 10.0 ** (k_db / 10.0)) == pytest.approx(TABLE[k_db][0], rel=1e-4)


@pytest.mark.parametrize("k_db", TABLE)
def test_level_at_a_share(k_db: int) -> None:
    """The levels undercut 1 and 0.1 % of the time, to the last digit printed."""
    found = [rice_level_db(share, 10.0 ** (k_db / 10.0)) for share in (0.01, 0.001)]
    assert found == pytest.approx(TABLE[k_db][1], abs=0.0006)


@pytest.mark.parametrize("rician_k", [0.5, 3.0, 30.0])
def test_against_an_integral(rician_k: float) -> None:
    """Rice's density of the power, (K+1) e^(-K-(K+1)x) I0(2 sqrt(K(K+1)x)), integrated by scipy."""

    def density(power: float) -> float:
        root = np.sqrt(rician_k * (rician_k + 1.0) * power)
        growth = 2.0 * root - rician_k - (rician_k + 1.0) * power
        return float((rician_k + 1.0) * np.exp(growth) * special.i0e(2.0 * root))

    for level_db in (-6.0, 0.0, 3.0):
        expected, _ = integrate.quad(density, 0.0, 10.0 ** (level_db / 10.0))
        assert rice_share_below(level_db, rician_k) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("rician_k", [0.0, 0.1, 4.0, 100.0, 1_000.0])
def test_against_scipy(rician_k: float) -> None:
    levels_db = np.linspace(-10.0, 20.0, 31)
    rice = stats.rice(b=np.sqrt(2.0 * rician_k), scale=1.0 / np.sqrt(2.0 * (rician_k + 1.0)))
    expected = rice.cdf(10.0 ** (levels_db / 20.0))
    np.testing.assert_allclose(rice_share_below(levels_db, rician_k), expected, rtol=1e-7, atol=1e-15)


def test_edges_are_refused() -> None:
    for rician_k in (-0.1, 1_000.1):
        with pytest.raises(ValueError, match="from 0 to 1000"):
            rice_share_below(0.0, rician_k)
    for share in (0.0, 1.0, -0.5, 1e-13):
        with pytest.raises(ValueError, match="between 0 and 1"):
            rice_level_db(share, 0.0)
