"""Programme meters against IEC 60268-10, type IIa, as a broadcaster's engineer notes it; one pole too."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import lfilter

from fleet.physics.ballistics import TYPE_IIA, programme_levels, settling_constant_s

RATE_HZ = 192_000
TONE_HZ = 5000.0


def _tone(length_s: float) -> NDArray[np.float64]:
    return np.sin(2.0 * np.pi * TONE_HZ * np.arange(round(length_s * RATE_HZ)) / RATE_HZ)


def _greatest_db(samples: NDArray[np.float64]) -> float:
    return float(20.0 * np.log10(programme_levels(samples, RATE_HZ, TYPE_IIA).max()))


@pytest.mark.parametrize(("burst_ms", "below_db"), [(100, 0.0), (10, -2.0), (5, -4.0), (1.5, -9.0), (0.5, -17.0)])
def test_bursts(burst_ms: float, below_db: float) -> None:
    """Bursts of 5 kHz stand that far below the steady tone; within 1 dB, a limit of ours."""
    burst = _tone(burst_ms / 1000.0)
    assert _greatest_db(burst) - _greatest_db(_tone(0.5)) == pytest.approx(below_db, abs=1.0)


def test_return() -> None:
    """It falls 24 dB in 2.8 s once the tone is over."""
    levels = programme_levels(np.concatenate([_tone(0.5), np.zeros(round(2.8 * RATE_HZ))]), RATE_HZ, TYPE_IIA)
    fallen_db = 20.0 * np.log10(levels[-1] / levels[round(0.5 * RATE_HZ) - 1])
    assert fallen_db == pytest.approx(-24.0, abs=0.05)


def test_a_steady_tone_reads_nearly_its_peak() -> None:
    assert -0.5 < _greatest_db(_tone(0.5)) < 0.0


def test_too_few_samples_are_refused() -> None:
    with pytest.raises(ValueError, match="more often"):
        programme_levels(np.zeros(8), 400.0, TYPE_IIA)


def test_one_pole_for_a_needle() -> None:
    """99 % in 300 ms wants 65.14 ms; the same pole run by scipy gets there at 300 ms."""
    constant_s = settling_constant_s(0.3, 0.99)
    assert constant_s * 1000.0 == pytest.approx(65.14, abs=0.01)
    stay = float(np.exp(-1.0 / (constant_s * RATE_HZ)))
    step = lfilter([1.0 - stay], [1.0, -stay], np.ones(RATE_HZ))
    assert np.argmax(step >= 0.99) / RATE_HZ == pytest.approx(0.300, abs=1e-4)


@pytest.mark.parametrize(("within_s", "share"), [(0.0, 0.99), (0.3, 0.0), (0.3, 1.0)])
def test_no_pole_settles_so(within_s: float, share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        settling_constant_s(within_s, share)
