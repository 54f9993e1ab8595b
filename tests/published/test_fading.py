"""Fading against Rice, Clarke 1968 and Jakes 1974: how often it is how deep, and how fast it forgets.

Many rows with phases of their own stand for a long time; the oracles are published values and scipy, never our code.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import special, stats

from fleet.physics.fading import (
    doppler_hz,
    first_phasors,
    phases_of_place_rad,
    scatterer_angles_rad,
    turn_fields,
)
from fleet.physics.propagation import SPEED_OF_LIGHT_M_S

SEED = 20_240_117
ROWS = 4_000
SCATTERERS = 64
FREQUENCY_HZ = 600e6


def _powers(rician_k: float, steps: int, step_s: float, shift_hz: float) -> NDArray[np.float64]:
    print(f"seed {SEED}")
    luck = np.random.default_rng(SEED)
    angles = scatterer_angles_rad(luck.uniform(size=ROWS), SCATTERERS)
    phasors = first_phasors(luck.uniform(0.0, 2.0 * np.pi, (ROWS, SCATTERERS + 1)), np.full(ROWS, rician_k))
    step_m = np.broadcast_to([shift_hz * SPEED_OF_LIGHT_M_S / FREQUENCY_HZ * step_s, 0.0], (ROWS, 2))
    turn = phases_of_place_rad(angles, step_m, np.full(ROWS, FREQUENCY_HZ))
    fields, _ = turn_fields(phasors[:, np.newaxis, :-1], np.exp(1j * turn), steps)
    return np.abs(fields[:, 0].T + phasors[:, -1]) ** 2  # The direct path stands still.


@pytest.mark.parametrize(
    ("below_db", "share"), [(0.0, 0.63212), (-3.0, 0.39419), (-10.0, 0.095163), (-20.0, 0.0099502)]
)
def test_rayleigh_distribution(below_db: float, share: float) -> None:
    """Rayleigh: 1 - e^-x; each value within three standard errors of 4,000 independent rows."""
    power = _powers(0.0, 1, 0.1, 2.0)
    found = np.mean(power < 10.0 ** (below_db / 10.0))
    assert found == pytest.approx(share, abs=3.0 * np.sqrt(share * (1.0 - share) / ROWS))


def test_rayleigh_median() -> None:
    """-1.5917 dB about the mean power."""
    found_db = 10.0 * np.log10(np.median(_powers(0.0, 8, 0.5, 2.0)))
    assert found_db == pytest.approx(-1.5917, abs=0.15)


@pytest.mark.parametrize(
    ("k_db", "below_db", "share"),
    [
        (0.0, -10.0, 0.073346),
        (3.0, -6.0, 0.13164),
        (6.0, -3.0, 0.21422),
        (6.0, -6.0, 0.068904),
        (10.0, -3.0, 0.09985),
        (10.0, -6.0, 0.011433),
    ],
)
def test_rice_distribution(k_db: float, below_db: float, share: float) -> None:
    """Rice 1944: 1 - Q1(sqrt 2K, sqrt 2(K+1)x), tabled for the mean total power; and scipy's own Rice."""
    ratio = 10.0 ** (k_db / 10.0)
    level = 10.0 ** (below_db / 10.0)
    by_scipy = stats.rice(b=np.sqrt(2.0 * ratio), scale=1.0 / np.sqrt(2.0 * (ratio + 1.0))).cdf(np.sqrt(level))
    assert by_scipy == pytest.approx(share, rel=2e-4)
    found = np.mean(_powers(ratio, 1, 0.1, 2.0) < level)
    assert found == pytest.approx(share, abs=3.0 * np.sqrt(share * (1.0 - share) / ROWS))


@pytest.mark.parametrize("rician_k", [0.0, 1.0, 4.0])
def test_mean_power_is_one(rician_k: float) -> None:
    power = _powers(rician_k, 4, 0.5, 2.0)
    assert power.mean() == pytest.approx(1.0, abs=0.05)


def test_field_forgets_as_a_bessel_function() -> None:
    """Clarke 1968: the power's correlation over a delay is J0(2 pi fd tau) squared (Jakes 1974)."""
    shift_hz, step_s = 2.0, 0.02
    power = _powers(0.0, 16, step_s, shift_hz)
    first = power[0]
    for steps in (3, 6, 10, 15):
        found = np.corrcoef(first, power[steps])[0, 1]
        expected = special.j0(2.0 * np.pi * shift_hz * steps * step_s) ** 2
        assert found == pytest.approx(expected, abs=3.0 / np.sqrt(ROWS))


def test_doppler() -> None:
    """1 m/s at 600 MHz makes 2.0014 Hz; 3 Hz needs 1.4990 m/s."""
    assert doppler_hz(1.0, 600e6) == pytest.approx(2.0014, abs=1e-3)
    assert doppler_hz(1.4990, 600e6) == pytest.approx(3.0, abs=1e-3)


def test_edges_are_refused() -> None:
    with pytest.raises(ValueError, match="speed"):
        doppler_hz(-0.1, 600e6)
    with pytest.raises(ValueError, match="Rician"):
        first_phasors(np.zeros((1, 3)), np.array([-1.0]))
