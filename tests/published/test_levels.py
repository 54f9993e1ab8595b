"""Audio levels against AES17-2015 (3.12.1), EBU R 68 and the definition of the dBu."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.levels import DIGITAL_SILENCE_DBFS, dbu_from_dbfs, peak_dbfs, rms_dbfs, volts_from_dbu

SAMPLES = 48_000


def test_full_scale_sine_and_square() -> None:
    """AES17: a full-scale sine is 0.00 dBFS rms, a square wave +3.01."""
    phase = 2.0 * np.pi * 997.0 * np.arange(SAMPLES) / SAMPLES
    sine = np.sin(phase)
    assert rms_dbfs(sine) == pytest.approx(0.0, abs=0.005)
    assert peak_dbfs(sine) == pytest.approx(0.0, abs=0.005)
    assert rms_dbfs(np.sign(np.cos(phase))) == pytest.approx(3.01, abs=0.005)


def test_rms_of_samples_is_not_rms_in_dbfs() -> None:
    """A meter that takes the samples' rms for dBFS reads a full-scale sine as -3.01; ours reads 3.01 more."""
    sine = np.sin(2.0 * np.pi * 997.0 * np.arange(SAMPLES) / SAMPLES)
    of_samples_db = 20.0 * np.log10(np.sqrt(np.mean(sine**2)))
    assert of_samples_db == pytest.approx(-3.01, abs=0.005)
    assert rms_dbfs(sine) - of_samples_db == pytest.approx(3.01, abs=0.005)


def test_half_of_silence_takes_three_decibels() -> None:
    """Long-term rms of as much silence as signal: -3.01 dB."""
    sine = np.sin(2.0 * np.pi * 997.0 * np.arange(SAMPLES) / SAMPLES)
    assert rms_dbfs(np.concatenate([sine, np.zeros(SAMPLES)])) == pytest.approx(-3.01, abs=0.005)


def test_silence_is_a_number() -> None:
    assert peak_dbfs(np.zeros(8)) == rms_dbfs(np.zeros(8)) == rms_dbfs(np.zeros(0)) == DIGITAL_SILENCE_DBFS


@pytest.mark.parametrize(
    ("level_dbu", "voltage_v"), [(0.0, 0.77460), (4.0, 1.22765), (18.0, 6.15284), (24.0, 12.27653)]
)
def test_dbu_as_volts(level_dbu: float, voltage_v: float) -> None:
    """0 dBu is the voltage of a milliwatt in 600 ohms."""
    assert volts_from_dbu(level_dbu) == pytest.approx(voltage_v, abs=1e-5)


def test_dbu_and_dbv() -> None:
    """0 dBu is -2.2185 dBV."""
    assert 20.0 * np.log10(volts_from_dbu(0.0)) == pytest.approx(-2.2185, abs=5e-5)


def test_alignment() -> None:
    """EBU R 68: -18 dBFS is 0 dBu, 0 dBFS is +18 dBu."""
    assert dbu_from_dbfs(np.array([-18.0, 0.0])) == pytest.approx([0.0, 18.0])
