"""The running world's fading and what diversity gains over it, a thousand samples a second before any meter.

Thirty seeds, each a world of its own; every mean lies within three standard errors of the published value.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import special

from tests.statistics.estimates import agrees, crossings_per_s
from tests.statistics.running import (
    ADDING,
    BETTER,
    DIRECT_3,
    DIRECT_6,
    DIRECT_10,
    DOPPLER_HZ,
    ROW,
    SAMPLE_S,
    SPACINGS_WAVELENGTHS,
    runs,
)

# Threshold about the rms in dB, share below, crossings a second, mean duration of a fade in ms, at 3 Hz (Rice 1944/45;
# Jakes 1974).
RAYLEIGH = [
    (0.0, 0.63212, 2.7664, 228.50),
    (-3.0, 0.39419, 3.2251, 122.22),
    (-10.0, 0.095163, 2.1517, 44.227),
    (-20.0, 0.0099502, 0.74451, 13.365),
]
# K in dB, level about the mean in dB, share below (Rice 1944/45).
RICE = [
    (DIRECT_3, 3.0, -6.0, 0.13164),
    (DIRECT_3, 3.0, -10.0, 0.046207),
    (DIRECT_6, 6.0, -3.0, 0.21422),
    (DIRECT_6, 6.0, -6.0, 0.068904),
    (DIRECT_10, 10.0, -3.0, 0.09985),
]


@pytest.mark.parametrize(("level_db", "share", "_rate", "_ms"), RAYLEIGH)
def test_share_of_time_below(level_db: float, share: float, _rate: float, _ms: float) -> None:
    level = 10.0 ** (level_db / 10.0)
    agrees([np.mean(run.power[BETTER, :2] < level) for run in runs()], share, f"share below {level_db} dB")


@pytest.mark.parametrize(("level_db", "_share", "rate", "_ms"), RAYLEIGH)
def test_level_crossing_rate(level_db: float, _share: float, rate: float, _ms: float) -> None:
    level = 10.0 ** (level_db / 10.0)
    found = [crossings_per_s(run.power[BETTER, :2], level, SAMPLE_S) for run in runs()]
    agrees(found, rate, f"crossings a second of {level_db} dB")


@pytest.mark.parametrize(("level_db", "_share", "_rate", "fade_ms"), RAYLEIGH)
def test_average_fade_duration(level_db: float, _share: float, _rate: float, fade_ms: float) -> None:
    """Of all seeds but one at a time, for a ratio of two means is no mean (the jackknife)."""
    level = 10.0 ** (level_db / 10.0)
    below = np.array([np.mean(run.power[BETTER, :2] < level) for run in runs()])
    rates = np.array([crossings_per_s(run.power[BETTER, :2], level, SAMPLE_S) for run in runs()])
    whole = below.sum() / rates.sum()
    without = (below.sum() - below) / (rates.sum() - rates)
    agrees(1000.0 * (len(below) * whole - (len(below) - 1) * without), fade_ms, f"fade below {level_db} dB in ms")


@pytest.mark.parametrize("delay_ms", [20, 40, 60, 90, 200])
def test_autocorrelation_in_time(delay_ms: int) -> None:
    """Clarke 1968: J0(2 pi fd tau) for the field, its square for the power (Jakes 1974)."""
    steps = round(delay_ms / 1000.0 / SAMPLE_S)
    theory = float(special.j0(2.0 * np.pi * DOPPLER_HZ * delay_ms / 1000.0)) ** 2
    found = [np.mean(_correlation(run.power[BETTER, :2], steps)) for run in runs()]
    agrees(found, theory, f"power's correlation after {delay_ms} ms")


def _correlation(power: NDArray[np.float64], steps: int) -> NDArray[np.float64]:
    """Of unit-mean exponential powers, whose variance is 1: the mean of the product less one."""
    product: NDArray[np.float64] = (power[..., :-steps] - 1.0) * (power[..., steps:] - 1.0)
    return np.asarray(product.mean(axis=-1), dtype=np.float64)


@pytest.mark.parametrize("spacing", sorted(SPACINGS_WAVELENGTHS))
def test_correlation_of_branches_by_spacing(spacing: float) -> None:
    """J0(2 pi d / wavelength) squared: 0.2228 at a quarter, 0.0926 at a half, 0.0485 at a whole wavelength."""
    first, second = SPACINGS_WAVELENGTHS[spacing]
    theory = float(special.j0(2.0 * np.pi * spacing)) ** 2
    found = [np.mean((run.power[ROW, first] - 1.0) * (run.power[ROW, second] - 1.0)) for run in runs()]
    agrees(found, theory, f"power's correlation at {spacing} wavelengths")


@pytest.mark.parametrize(("rows", "k_db", "level_db", "share"), RICE)
def test_share_of_time_below_with_a_direct_path(rows: slice, k_db: float, level_db: float, share: float) -> None:
    level = 10.0 ** (level_db / 10.0)
    found = [np.mean(run.power[rows, 0] < level) for run in runs()]
    agrees(found, share, f"share below {level_db} dB with K {k_db} dB")


@pytest.mark.parametrize(("rows", "k_db"), [(DIRECT_3, 3.0), (DIRECT_6, 6.0), (DIRECT_10, 10.0)])
def test_direct_over_scattered_power(rows: slice, k_db: float) -> None:
    """From the power's first two moments: variance over mean squared is (1 + 2 K) / (1 + K)^2."""
    ratio = 10.0 ** (k_db / 10.0)
    found = [np.mean((run.power[rows, 0] - 1.0) ** 2) for run in runs()]
    agrees(found, (1.0 + 2.0 * ratio) / (1.0 + ratio) ** 2, f"variance of the power with K {k_db} dB")


# Level that is undercut 1 % of the time, about a branch's mean: -19.978 dB with one branch.
ONE_BRANCH_DB = -19.978


@pytest.mark.parametrize(
    ("rows", "level_db", "gain_db"), [(BETTER, -9.773, 10.205), (ADDING, -8.281, 11.697)], ids=["better", "adding"]
)
def test_gain_at_one_per_cent(rows: slice, level_db: float, gain_db: float) -> None:
    """Two equal Rayleigh branches: 10.2 dB by taking the better one, 11.7 dB by adding both by their ratios."""
    assert level_db - ONE_BRANCH_DB == pytest.approx(gain_db, abs=0.005)
    found = [10.0 * np.log10(np.quantile(run.ratio[rows], 0.01)) - ONE_BRANCH_DB for run in runs()]
    agrees(found, gain_db, "gain of two branches at 1 % in dB")


@pytest.mark.parametrize(("rows", "share"), [(BETTER, 9.0559e-3), (ADDING, 4.6788e-3)], ids=["better", "adding"])
def test_outage_ten_decibels_below_the_mean(rows: slice, share: float) -> None:
    agrees([np.mean(run.ratio[rows] < 0.1) for run in runs()], share, "outage at -10 dB")
