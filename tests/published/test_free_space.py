"""Free-space loss against ITU-R P.525: 20 log10(4 pi d / wavelength)."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.decibels import eirp_dbm_from_erp_mw
from fleet.physics.noise import noise_power_dbm
from fleet.physics.propagation import free_space_loss_db

DISTANCES_M = (1.0, 10.0, 30.0, 50.0, 100.0, 300.0, 1000.0)
# ITU-R P.525, frequency in MHz to losses in dB at the distances above.
LOSSES_DB = {
    174: (17.259, 37.259, 46.801, 51.238, 57.259, 66.801, 77.259),
    470: (25.890, 45.890, 55.432, 59.869, 65.890, 75.432, 85.890),
    500: (26.427, 46.427, 55.970, 60.407, 66.427, 75.970, 86.427),
    600: (28.011, 48.011, 57.553, 61.990, 68.011, 77.553, 88.011),
    694: (29.275, 49.275, 58.817, 63.254, 69.275, 78.817, 89.275),
    823: (30.756, 50.756, 60.298, 64.735, 70.756, 80.298, 90.756),
    1900: (38.023, 58.023, 67.565, 72.002, 78.023, 87.565, 98.023),
    2400: (40.052, 60.052, 69.594, 74.031, 80.052, 89.594, 100.052),
}


@pytest.mark.parametrize("frequency_mhz", LOSSES_DB)
def test_table(frequency_mhz: int) -> None:
    """ITU-R P.525, to 0.005 dB."""
    losses = free_space_loss_db(np.array(DISTANCES_M), frequency_mhz * 1e6)
    assert losses == pytest.approx(LOSSES_DB[frequency_mhz], abs=0.005)


def test_doubling() -> None:
    """Twice the distance or frequency costs 6.0206 dB."""
    once = free_space_loss_db(20.0, 500e6)
    assert free_space_loss_db(40.0, 500e6) - once == pytest.approx(6.0206, abs=1e-4)
    assert free_space_loss_db(20.0, 1000e6) - once == pytest.approx(6.0206, abs=1e-4)


def test_rounded_constants() -> None:
    """P.525 writes 32.4 for MHz and km, exactly 32.448; for MHz and m -27.552."""
    in_kilometres = free_space_loss_db(1_000.0, 1e6)
    assert in_kilometres == pytest.approx(32.4, abs=0.06)
    assert in_kilometres == pytest.approx(32.448, abs=0.001)
    assert free_space_loss_db(1.0, 1e6) == pytest.approx(-27.552, abs=0.001)


def test_link_budget() -> None:
    """10 dBm e.i.r.p., 600 MHz, 30 m: -47.553 dBm, 67.41 dB above the floor; as e.r.p. 2.15 dB more."""
    level_dbm = 10.0 - float(free_space_loss_db(30.0, 600e6))
    assert level_dbm == pytest.approx(-47.553, abs=0.02)
    assert level_dbm - noise_power_dbm(200e3, 6.0) == pytest.approx(67.41, abs=0.02)
    assert eirp_dbm_from_erp_mw(10.0) - 10.0 == pytest.approx(2.15, abs=0.001)


def test_edges_are_refused() -> None:
    for distance_m, frequency_hz in ((0.0, 500e6), (-1.0, 500e6), (1.0, 0.0)):
        with pytest.raises(ValueError, match="above zero"):
            free_space_loss_db(distance_m, frequency_hz)
