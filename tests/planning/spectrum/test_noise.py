"""The spread of noise, against scipy's gamma distribution and drawn medians."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from fleet.planning.spectrum.noise import highest_db, looks_of_spread, quantile_db


@pytest.mark.parametrize("looks", [1.0, 2.0, 4.0, 16.0, 100.0])
@pytest.mark.parametrize("share", [0.2, 0.25, 0.4, 0.5, 0.9, 0.999])
def test_quantiles_are_those_of_a_gamma_distribution(looks: float, share: float) -> None:
    oracle_db = 10.0 * math.log10(stats.gamma.ppf(share, looks, scale=1.0 / looks))
    assert quantile_db(share, looks) == pytest.approx(oracle_db, abs=0.12)


def test_single_looks_are_exponential() -> None:
    """-10 log10(-ln(1 - 0.2)) is 6.51 dB, by hand; the amplitude is Rayleigh distributed."""
    assert quantile_db(0.2, 1.0) == pytest.approx(-6.51, abs=0.06)
    rayleigh = 20.0 * math.log10(stats.rayleigh.ppf(0.2, scale=math.sqrt(0.5)))
    assert quantile_db(0.2, 1.0) == pytest.approx(rayleigh, abs=0.06)


@pytest.mark.parametrize("sweeps", [5, 12, 50])
@pytest.mark.parametrize("looks", [1.0, 8.0])
def test_the_median_of_sweeps_is_narrower(sweeps: int, looks: float) -> None:
    luck = np.random.default_rng(17)
    drawn = np.median(10.0 * np.log10(luck.gamma(looks, 1.0 / looks, (sweeps, 40_000))), axis=0)
    for share in (0.1, 0.25, 0.4):
        assert quantile_db(share, looks, sweeps) == pytest.approx(float(np.quantile(drawn, share)), abs=0.4)


@pytest.mark.parametrize("looks", [1.0, 3.0, 30.0])
def test_looks_are_told_from_the_spread(looks: float) -> None:
    low, high = (10.0 * math.log10(stats.gamma.ppf(share, looks, scale=1.0 / looks)) for share in (0.2, 0.5))
    assert looks_of_spread(high - low, 0.2, 0.5) == pytest.approx(looks, rel=0.12)
    assert looks_of_spread(0.0, 0.2, 0.5) == math.inf
    assert looks_of_spread(90.0, 0.2, 0.5) == pytest.approx(1.0)


def test_the_highest_of_many() -> None:
    """Of 20,000 single looks the highest passes ln(20,000 / 0.01), 11.6 dB, once in a hundred times."""
    assert highest_db(20_000, 1.0, 0.01) == pytest.approx(10.0 * math.log10(math.log(2e6)), abs=0.6)
    assert quantile_db(0.3, math.inf) == 0.0
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantile_db(1.0, 4.0)
