"""Diversity of independent Rayleigh branches: tabled levels, and scipy's regularised gamma function."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, special

from fleet.physics.diversity import (
    alike_selection_outage,
    combined,
    combining_outage,
    selected,
    selection_mean_gain_db,
    selection_outage,
)

SEED = 20_261_125
DRAWS = 400_000


def _level_db(outage: float, branches: int, *, combining: bool) -> float:
    share = combining_outage if combining else selection_outage
    return float(
        optimize.brentq(lambda db: float(share(10.0 ** (db / 10.0), branches)) - outage, -60.0, 10.0, xtol=1e-9)
    )


@pytest.mark.parametrize(
    ("outage", "one", "of_two", "of_four"),
    [
        (0.1, -9.773, (5.573, 7.031), (8.945, 12.191)),
        (0.01, -19.978, (10.205, 11.697), (15.778, 19.134)),
        (0.001, -29.998, (15.067, 16.569), (22.916, 26.318)),
    ],
)
def test_gain_at_an_outage(
    outage: float, one: float, of_two: tuple[float, float], of_four: tuple[float, float]
) -> None:
    """Level of one branch, and what selecting and combining gain over it, within 0.005 dB of what is tabled."""
    alone = _level_db(outage, 1, combining=False)
    assert alone == pytest.approx(one, abs=0.005)
    for branches, gains in ((2, of_two), (4, of_four)):
        selecting = _level_db(outage, branches, combining=False) - alone
        combining = _level_db(outage, branches, combining=True) - alone
        assert (selecting, combining) == pytest.approx(gains, abs=0.005)


@pytest.mark.parametrize(
    ("outage", "selecting", "combining"),
    [(0.1, -4.201, -2.742), (0.01, -9.773, -8.281), (0.001, -14.930, -13.429)],
)
def test_level_at_an_outage(outage: float, selecting: float, combining: float) -> None:
    """Of two branches, about the mean of one."""
    assert _level_db(outage, 2, combining=False) == pytest.approx(selecting, abs=0.005)
    assert _level_db(outage, 2, combining=True) == pytest.approx(combining, abs=0.005)


@pytest.mark.parametrize(
    ("correlation", "outage", "level_db"),
    [
        (0.3, 0.012423, -10.504),
        (0.5, 0.016506, -11.185),
        (0.7, 0.024528, -12.200),
        (0.9, 0.046791, -14.274),
    ],
)
def test_branches_that_are_alike(correlation: float, outage: float, level_db: float) -> None:
    """By the correlation of powers: outage of the better one at -10 dB, and the level at 1 %."""
    assert float(alike_selection_outage(0.1, correlation)) == pytest.approx(outage, rel=1e-4)
    found = optimize.brentq(
        lambda db: float(alike_selection_outage(10.0 ** (db / 10.0), correlation)) - 0.01, -60.0, 10.0
    )
    assert found == pytest.approx(level_db, abs=0.005)


def test_branches_that_are_hardly_alike_or_hardly_apart() -> None:
    """Between two independent branches and one alone; nothing and everything are no special cases."""
    levels = np.array([0.0, 1e-6, 0.1, 3.0, 1e6])
    assert alike_selection_outage(levels, 0.0) == pytest.approx(selection_outage(levels, 2))
    assert alike_selection_outage(levels, 1e-12) == pytest.approx(selection_outage(levels, 2), rel=1e-6)
    between = alike_selection_outage(levels, 0.99)
    rounding = 1e-10
    assert np.all(selection_outage(levels, 2) <= between + rounding)
    assert np.all(between <= selection_outage(levels, 1) + rounding)
    assert between[0] == 0.0


@pytest.mark.parametrize(
    ("below_db", "selecting", "combining"),
    [(-10.0, 9.0559e-3, 4.6788e-3), (-15.0, 9.6895e-4, 4.8958e-4), (-20.0, 9.9006e-5, 4.9668e-5)],
)
def test_outage_of_two(below_db: float, selecting: float, combining: float) -> None:
    level = 10.0 ** (below_db / 10.0)
    assert float(selection_outage(level, 2)) == pytest.approx(selecting, rel=1e-4)
    assert float(combining_outage(level, 2)) == pytest.approx(combining, rel=1e-4)


@pytest.mark.parametrize("branches", [1, 2, 3, 4, 8])
def test_combining_is_a_gamma_function(branches: int) -> None:
    levels = np.concatenate([[0.0], np.logspace(-4, 4, 50)])
    expected = special.gammainc(branches, levels)
    np.testing.assert_allclose(combining_outage(levels, branches), expected, rtol=1e-9)


@pytest.mark.parametrize(("branches", "gain_db"), [(2, 1.761), (3, 2.632), (4, 3.188)])
def test_mean_gain_of_selection(branches: int, gain_db: float) -> None:
    assert selection_mean_gain_db(branches) == pytest.approx(gain_db, abs=0.001)


def test_four_branches_by_a_textbook() -> None:
    """Ten dB below the mean: one branch 0.0952, four by selection 8.20e-5 (Rappaport, worked example)."""
    assert float(selection_outage(0.1, 1)) == pytest.approx(0.0952, abs=5e-5)
    assert float(selection_outage(0.1, 4)) == pytest.approx(8.20e-5, abs=5e-8)


def test_branches_drawn_at_random() -> None:
    """The better and the sum of two drawn branches fall below -10 dB as often as tabled, within three errors."""
    print(f"seed {SEED}")
    powers = np.random.default_rng(SEED).exponential(size=(DRAWS, 2))
    for found, tabled in ((selected(powers), 9.0559e-3), (combined(powers), 4.6788e-3)):
        error = np.sqrt(tabled * (1.0 - tabled) / DRAWS)
        assert np.mean(found < 0.1) == pytest.approx(tabled, abs=3.0 * error)


def test_refuses() -> None:
    with pytest.raises(ValueError, match="at least"):
        selection_outage(-0.1, 2)
    with pytest.raises(ValueError, match="at least"):
        combining_outage(0.1, 0)
    with pytest.raises(ValueError, match="at least"):
        selection_mean_gain_db(0)
    for correlation in (-0.1, 0.991, 1.0):
        with pytest.raises(ValueError, match=r"0 to 0\.99"):
            alike_selection_outage(0.1, correlation)
    with pytest.raises(ValueError, match="at least"):
        alike_selection_outage(-0.1, 0.5)
