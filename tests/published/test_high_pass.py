"""The Butterworth high-pass against its textbook values and scipy's own design."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from fleet.physics.filters import high_pass_db

CORNER_HZ = 80.0
# |H| in dB at 2 fc, fc, fc/2, fc/4, fc/10 for 6, 12, 18 and 24 dB an octave.
MAGNITUDES_DB = {
    1: (-0.969, -3.010, -6.990, -12.304, -20.043),
    2: (-0.263, -3.010, -12.304, -24.099, -40.000),
    3: (-0.067, -3.010, -18.129, -36.125, -60.000),
    4: (-0.017, -3.010, -24.099, -48.165, -80.000),
}


@pytest.mark.parametrize("order", MAGNITUDES_DB)
def test_table(order: int) -> None:
    """-10 log10(1 + (fc/f)^2n), to 0.005 dB."""
    frequencies = CORNER_HZ * np.array([2.0, 1.0, 0.5, 0.25, 0.1])
    assert high_pass_db(frequencies, CORNER_HZ, order) == pytest.approx(MAGNITUDES_DB[order], abs=0.005)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_against_scipy(order: int) -> None:
    frequencies = np.geomspace(20.0, 2000.0, 25)
    numerator, denominator = signal.butter(order, 2.0 * np.pi * CORNER_HZ, "highpass", analog=True)
    _, response = signal.freqs(numerator, denominator, 2.0 * np.pi * frequencies)
    assert high_pass_db(frequencies, CORNER_HZ, order) == pytest.approx(20.0 * np.log10(np.abs(response)), abs=1e-6)


def test_no_corner_is_no_filter() -> None:
    assert high_pass_db(40.0, 0.0, 2) == pytest.approx(0.0)


def test_edges_are_refused() -> None:
    for frequency_hz, corner_hz, order in ((0.0, 80.0, 2), (40.0, -1.0, 2), (40.0, 80.0, 0)):
        with pytest.raises(ValueError, match="at least"):
            high_pass_db(frequency_hz, corner_hz, order)
