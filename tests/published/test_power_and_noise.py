"""Power units and noise against ITU-R V.574, the Radio Regulations (article 1), the SI of 2019 and Friis 1944."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from fleet.physics.decibels import (
    HALF_WAVE_DIPOLE_DBI,
    dbm_from_mw,
    eirp_dbm_from_erp_mw,
    erp_mw_from_eirp_mw,
    mw_from_dbm,
)
from fleet.physics.noise import BOLTZMANN_J_K, cascade_noise_figure_db, noise_power_dbm, noise_temperature_k


@pytest.mark.parametrize(
    ("power_mw", "power_dbm"),
    [(1, 0.0), (10, 10.0), (20, 13.010), (50, 16.990), (100, 20.0), (250, 23.979), (1000, 30.0)],
)
def test_milliwatts_and_dbm(power_mw: float, power_dbm: float) -> None:
    """ITU-R V.574; arithmetic."""
    assert dbm_from_mw(power_mw) == pytest.approx(power_dbm, abs=0.001)
    assert mw_from_dbm(power_dbm) == pytest.approx(power_mw, rel=0.001)


def test_half_wave_dipole_against_its_exact_directivity() -> None:
    """4 / Cin(2 pi) = 1.64092, 2.1509 dBi, by scipy's cosine integral; the rules round it to what we reckon with."""
    _, cosine_integral = special.sici(2.0 * np.pi)
    directivity = 4.0 / (np.euler_gamma + np.log(2.0 * np.pi) - cosine_integral)
    assert directivity == pytest.approx(1.64092, abs=1e-4)
    assert 10.0 * np.log10(directivity) == pytest.approx(2.1509, abs=1e-4)
    assert pytest.approx(2.1509, abs=0.001) == HALF_WAVE_DIPOLE_DBI


def test_erp_as_eirp() -> None:
    """50 mW e.r.p. are 82.03 mW e.i.r.p., 19.14 dBm; 250 mW are 410.1 mW (Radio Regulations, article 1)."""
    assert eirp_dbm_from_erp_mw(50.0) == pytest.approx(19.14, abs=0.003)
    assert 10 ** (eirp_dbm_from_erp_mw(50.0) / 10) == pytest.approx(82.03, abs=0.05)
    assert 10 ** (eirp_dbm_from_erp_mw(250.0) / 10) == pytest.approx(410.1, abs=0.1)


@pytest.mark.parametrize(
    ("bandwidth_hz", "noise_dbm"),
    [
        (12.5e3, -133.006),
        (25e3, -129.996),
        (100e3, -123.975),
        (180e3, -121.422),
        (200e3, -120.965),
        (400e3, -117.955),
        (600e3, -116.194),
        (6e6, -106.194),
        (8e6, -104.944),
        (20e6, -100.965),
    ],
)
def test_thermal_noise(bandwidth_hz: float, noise_dbm: float) -> None:
    """K T0 B with the exact Boltzmann constant and T0 = 290 K."""
    assert noise_power_dbm(bandwidth_hz) == pytest.approx(noise_dbm, abs=0.005)


def test_density_of_thermal_noise() -> None:
    """The "-174" of a hertz."""
    assert noise_power_dbm(1.0) == pytest.approx(-173.975, abs=0.001)


def test_boltzmann_constant() -> None:
    """SI of 2019, exact."""
    assert BOLTZMANN_J_K == 1.380649e-23


def test_floor_with_a_noise_figure() -> None:
    """200 kHz and 6 dB: -114.965 dBm."""
    assert noise_power_dbm(200e3, 6.0) == pytest.approx(-114.965, abs=0.005)


@pytest.mark.parametrize(
    ("noise_figure_db", "temperature_k"), [(1.0, 75.09), (3.0, 288.63), (6.0, 864.51), (10.0, 2610.0)]
)
def test_noise_temperature(noise_figure_db: float, temperature_k: float) -> None:
    """290 (F - 1); Friis 1944."""
    assert noise_temperature_k(noise_figure_db) == pytest.approx(temperature_k, abs=0.1)


def test_eirp_as_erp() -> None:
    """100 mW e.i.r.p. are 60.95 mW e.r.p. (Radio Regulations, article 1)."""
    assert erp_mw_from_eirp_mw(100.0) == pytest.approx(60.95, abs=0.1)


def test_cascade() -> None:
    """Friis 1944: 3 dB with 15 dB of gain before 8 dB makes 3.351 dB."""
    assert cascade_noise_figure_db([(3.0, 15.0), (8.0, 0.0)]) == pytest.approx(3.351, abs=0.002)


def test_edges_are_refused() -> None:
    for power_mw in (0.0, -1.0):
        with pytest.raises(ValueError, match="above zero"):
            dbm_from_mw(np.array([1.0, power_mw]))
        with pytest.raises(ValueError, match="above zero"):
            eirp_dbm_from_erp_mw(power_mw)
        with pytest.raises(ValueError, match="above zero"):
            erp_mw_from_eirp_mw(power_mw)
    with pytest.raises(ValueError, match="bandwidth"):
        noise_power_dbm(0.0)
    with pytest.raises(ValueError, match="noise figure"):
        noise_power_dbm(1.0, -0.1)
    with pytest.raises(ValueError, match="noise figure"):
        noise_temperature_k(-0.1)
    with pytest.raises(ValueError, match="one stage"):
        cascade_noise_figure_db([])
