"""Shadowing against its definition: normal in dB, and correlated as e^(-d/D) over a distance (Gudmundson 1991)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleet.physics.shadowing import shadow_field

SEED = 20_261_126
FIELDS = 3_000
WAVES = 32
SPREAD_DB = 6.0
DISTANCE_M = 5.0
APART_M = (0.0, 1.0, 2.5, 5.0, 10.0, 20.0)


def _shadows() -> np.ndarray:
    """Shadows [fields, places] of many fields along a line, from one seed."""
    print(f"seed {SEED}")
    luck = np.random.default_rng(SEED)
    places = np.array([[10.0 + apart * 0.6, -3.0 + apart * 0.8] for apart in APART_M])
    return np.stack(
        [shadow_field(luck.uniform(size=(WAVES, 3)), SPREAD_DB, DISTANCE_M).at(places) for _ in range(FIELDS)]
    )


def test_spread_and_correlation() -> None:
    """Each within four standard errors of as many independent fields; the shortest waves, lengthened, add 0.02."""
    found = _shadows()
    assert np.mean(found) == pytest.approx(0.0, abs=4.0 * SPREAD_DB / np.sqrt(FIELDS))
    assert np.std(found[:, 0]) == pytest.approx(SPREAD_DB, rel=4.0 / np.sqrt(2.0 * FIELDS))
    for place, apart_m in enumerate(APART_M):
        expected = np.exp(-apart_m / DISTANCE_M)
        error = (1.0 - expected**2) / np.sqrt(FIELDS)
        correlation = np.corrcoef(found[:, 0], found[:, place])[0, 1]
        assert correlation == pytest.approx(expected, abs=4.0 * error + 0.02)


def test_normal_in_decibels() -> None:
    """Quantiles at 5 and 95 % against scipy's normal distribution."""
    found = _shadows()[:, 0]
    for share in (0.05, 0.95):
        assert np.quantile(found, share) == pytest.approx(stats.norm.ppf(share, scale=SPREAD_DB), abs=0.6)


def test_same_place_same_shadow() -> None:
    field = shadow_field(np.random.default_rng(SEED).uniform(size=(WAVES, 3)), SPREAD_DB, DISTANCE_M)
    there = np.array([[3.0, 4.0], [7.0, -1.0], [3.0, 4.0]])
    first, _, again = field.at(there)
    assert first == again


def test_refuses() -> None:
    draws = np.zeros((1, 3))
    for spread_db, distance_m, drawn in ((-1.0, 5.0, draws), (6.0, 0.0, draws), (6.0, 5.0, np.zeros((0, 3)))):
        with pytest.raises(ValueError, match="a spread is at least zero"):
            shadow_field(drawn, spread_db, distance_m)
