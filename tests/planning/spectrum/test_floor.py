"""The floor against noise drawn by numpy, whose mean is known, with signals in up to four of ten points."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fleet.planning.spectrum.floor import floor_of

MEAN_DBM = -105.0
POINTS = 4_000
FREQUENCY_HZ = 470_000_000 + 25_000 * np.arange(POINTS, dtype=np.int64)


def drawn(luck: np.random.Generator, looks: float, sweeps: int, share: float) -> NDArray[np.float64]:
    """The median of sweeps of noise whose mean power is MEAN_DBM, with carriers 12 to 60 dB above in some points."""
    noise = np.ones((sweeps, POINTS)) if np.isinf(looks) else luck.gamma(looks, 1.0 / looks, (sweeps, POINTS))
    busy = luck.random(POINTS) < share
    signal = np.where(busy, 10.0 ** (luck.uniform(1.2, 6.0, POINTS)), 0.0)
    return np.asarray(np.median(10.0 * np.log10(noise + signal), axis=0) + MEAN_DBM)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.4])
@pytest.mark.parametrize("sweeps", [1, 5, 30])
@pytest.mark.parametrize("looks", [1.0, 4.0, 40.0, np.inf])
def test_the_mean_of_the_noise_is_found(looks: float, sweeps: int, share: float) -> None:
    """Within 1 dB in each stretch, where a bare quantile of a fifth would be off by up to 6.5."""
    luck = np.random.default_rng([5, int(min(looks, 99)), sweeps, int(10 * share)])
    floor = floor_of(FREQUENCY_HZ, drawn(luck, looks, sweeps, share), sweeps)
    assert floor is not None
    assert len(floor.floor_dbm) == 3, "one for each 32 MHz"
    assert floor.floor_dbm == pytest.approx(np.full(3, MEAN_DBM), abs=1.0)
    assert np.mean(floor.floor_dbm) == pytest.approx(MEAN_DBM, abs=0.7)


def test_rayleigh_amplitudes_have_the_same_floor() -> None:
    amplitudes = np.random.default_rng(6).rayleigh(np.sqrt(0.5), POINTS)
    floor = floor_of(FREQUENCY_HZ, 20.0 * np.log10(amplitudes) + MEAN_DBM)
    assert floor is not None
    assert np.mean(floor.floor_dbm) == pytest.approx(MEAN_DBM, abs=0.7)


def test_a_floor_that_slopes_is_followed() -> None:
    slope_dbm = np.linspace(-110.0, -98.0, POINTS)
    noise = 10.0 * np.log10(np.random.default_rng(7).gamma(10.0, 0.1, POINTS))
    floor = floor_of(FREQUENCY_HZ, slope_dbm + noise)
    assert floor is not None
    inside = slice(POINTS // 6, -POINTS // 6)
    assert floor.at(FREQUENCY_HZ)[inside] == pytest.approx(slope_dbm[inside], abs=1.0)


def test_a_stretch_without_any_noise_has_its_neighbours_floor() -> None:
    levels = np.full(POINTS, MEAN_DBM)
    levels[POINTS // 3 : 2 * POINTS // 3 + 1] = -70.0
    floor = floor_of(FREQUENCY_HZ, levels)
    assert floor is not None
    assert floor.filled == 1
    assert floor.at(FREQUENCY_HZ) == pytest.approx(np.full(POINTS, MEAN_DBM))


def test_few_points_are_one_stretch_and_none_have_no_floor() -> None:
    floor = floor_of(FREQUENCY_HZ[:5], np.array([-100.0, np.nan, -100.0, -50.0, -100.0]))
    assert floor is not None
    assert floor.floor_dbm == pytest.approx([-100.0])
    assert floor_of(FREQUENCY_HZ[:2], np.array([np.nan, np.nan])) is None
