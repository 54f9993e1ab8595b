"""Analog links against Carson's rule and the textbook improvement of FM (Carlson; Haykin)."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.links import carson_bandwidth_hz, fm_gain_db, fm_improvement_db, fm_output_snr_db


def test_carson() -> None:
    """45 kHz and 15 kHz make 120 kHz; 75 and 15 make 180."""
    assert carson_bandwidth_hz(45e3, 15e3) == 120e3
    assert carson_bandwidth_hz(75e3, 15e3) == 180e3


def test_improvement() -> None:
    """3 D^2 (D + 1) in Carson's bandwidth: 20.33 dB for D = 3."""
    assert fm_improvement_db(3.0) == pytest.approx(20.33, abs=0.01)


def test_gain_in_a_wider_band() -> None:
    """D = 3 in 200 kHz with 15 kHz of audio: 22.55 dB."""
    assert fm_gain_db(3.0, 200e3, 15e3) == pytest.approx(22.55, abs=0.01)


def test_shape_about_the_knee() -> None:
    """Shape only, as the sources agree on no exact knee: one for one above, faster below (Rice 1963)."""
    above = fm_output_snr_db(np.array([20.0, 30.0]), 3.0)
    below = fm_output_snr_db(np.array([2.0, 6.0]), 3.0)
    assert above[1] - above[0] == pytest.approx(10.0)
    assert below[1] - below[0] > 4.0


def test_edges_are_refused() -> None:
    with pytest.raises(ValueError, match="deviation"):
        fm_improvement_db(0.0)
    with pytest.raises(ValueError, match="audio bandwidth"):
        carson_bandwidth_hz(45e3, 0.0)
    with pytest.raises(ValueError, match="bandwidths must be above zero"):
        fm_gain_db(3.0, 0.0, 15e3)
