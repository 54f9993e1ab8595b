"""Regularised gamma functions and Poisson shares against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special, stats

from fleet.physics.gamma import gamma_shares, poisson_shares, terms_of


def test_gamma_shares() -> None:
    levels = np.concatenate([[0.0], np.logspace(-6, 2.5, 40)])
    expected = np.stack([special.gammainc(order, levels) for order in range(1, 9)], axis=-1)
    np.testing.assert_allclose(gamma_shares(levels, 8), expected, rtol=1e-10, atol=1e-300)


@pytest.mark.parametrize("level", [100.0, 1_000.0, 4_000.0])
def test_high_levels_lose_few_digits(level: float) -> None:
    orders = terms_of(level)
    expected = special.gammainc(np.arange(1, orders + 1), level)
    np.testing.assert_allclose(gamma_shares(level, orders), expected, rtol=1e-10, atol=1e-300)


@pytest.mark.parametrize("mean", [0.0, 0.3, 10.0, 1_000.0])
def test_poisson_shares(mean: float) -> None:
    """They are scipy's, and as many as are said to matter leave nothing out."""
    found = poisson_shares(mean, terms_of(mean))
    np.testing.assert_allclose(found, stats.poisson.pmf(np.arange(len(found)), mean), rtol=1e-9, atol=1e-300)
    assert found.sum() == pytest.approx(1.0, abs=1e-11)
