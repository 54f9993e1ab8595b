from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from simulator.scenario_checks import LOW_CUTS_HZ
from simulator.sound import _SPEECH_DB, _SPEECH_HZ, low_cut_gains_db


def test_no_low_cut_takes_nothing() -> None:
    assert low_cut_gains_db(0) == pytest.approx((0.0, 0.0, 0.0))


@pytest.mark.parametrize("corner_hz", [hz for hz in LOW_CUTS_HZ if hz])
def test_a_low_cut_is_a_second_order_butterworth(corner_hz: int) -> None:
    """Against scipy's own design, for the rumble and for speech as a whole."""
    numerator, denominator = signal.butter(2, 2.0 * np.pi * corner_hz, "highpass", analog=True)
    frequencies = np.concatenate([[40.0, 60.0], _SPEECH_HZ])
    _, response = signal.freqs(numerator, denominator, 2.0 * np.pi * frequencies)
    gains_db = 20.0 * np.log10(np.abs(response))
    speech = np.sum(10.0 ** ((_SPEECH_DB + gains_db[2:]) / 10.0)) / np.sum(10.0 ** (_SPEECH_DB / 10.0))
    expected = (10.0 * np.log10(speech), gains_db[0], gains_db[1])
    assert low_cut_gains_db(corner_hz) == pytest.approx(expected, abs=1e-6)


def test_speech_hardly_suffers() -> None:
    """Common practice: 80 to 120 Hz, because it takes the rumble and leaves the voice."""
    speech_db, rumble_db, _ = low_cut_gains_db(80)
    assert speech_db > -0.5
    assert rumble_db < -12.0
