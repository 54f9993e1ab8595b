"""Long-term spectrum of speech: Byrne et al., JASA 96(4), 1994, table II, combined, as several sources report it."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.sound import _SPEECH_DB, _SPEECH_HZ

# Thirds of an octave from 63 Hz to 16 kHz, in dB SPL.
LEVELS_DB = (
    *(38.6, 43.5, 54.4, 57.7, 56.8, 60.2, 60.3, 59.0, 62.1, 62.1, 60.5, 56.8, 53.7),
    *(53.0, 52.0, 48.7, 48.1, 46.8, 45.6, 44.5, 44.3, 43.7, 43.4, 41.3, 40.7),
)


def test_bands() -> None:
    """Each band stands at its third of an octave: base ten, in tenths of a decade, within what nominal names round."""
    assert tuple(_SPEECH_DB) == LEVELS_DB
    exact_hz = 10.0 ** (np.arange(18, 18 + len(LEVELS_DB)) / 10.0)
    np.testing.assert_allclose(_SPEECH_HZ, exact_hz, rtol=0.02)


def test_sum() -> None:
    """All bands together are 70.03 dB SPL; the greatest are those of 400 and 500 Hz."""
    assert 10.0 * np.log10(np.sum(10.0 ** (_SPEECH_DB / 10.0))) == pytest.approx(70.03, abs=0.01)
    assert set(_SPEECH_HZ[_SPEECH_DB.max() == _SPEECH_DB]) == {400.0, 500.0}
