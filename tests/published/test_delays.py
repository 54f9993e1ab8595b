"""Delays: ITU-R BT.1359-1 (1998), arithmetic, and the spectrum of a summed impulse by numpy."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.delays import notches_hz, peak_and_dip_db, picture_sync, sound_delay_s

RATE_HZ = 48_000


@pytest.mark.parametrize(("apart_ms", "notch_hz"), [(0.5, 1000.0), (1.0, 500.0), (2.0, 250.0), (5.0, 100.0)])
def test_first_notch_and_spacing(apart_ms: float, notch_hz: float) -> None:
    """1 / 2 tau, and again every 1 / tau."""
    found = notches_hz(apart_ms / 1000.0, 3)
    assert found == pytest.approx([notch_hz, 3.0 * notch_hz, 5.0 * notch_hz])


@pytest.mark.parametrize(
    ("copy_db", "peak_db", "dip_db"),
    [(-3.0, 4.65, -10.69), (-6.0, 3.53, -6.04), (-10.0, 2.39, -3.30), (-20.0, 0.83, -0.92)],
)
def test_peak_and_dip(copy_db: float, peak_db: float, dip_db: float) -> None:
    assert peak_and_dip_db(copy_db) == pytest.approx((peak_db, dip_db), abs=0.01)


def test_against_a_spectrum() -> None:
    """An impulse and its copy 3 ms later at -6 dB, by numpy's Fourier transform over a second."""
    apart = 3 * RATE_HZ // 1000
    sound = np.zeros(RATE_HZ)
    sound[0], sound[apart] = 1.0, 10.0 ** (-6.0 / 20.0)
    spectrum_db = 20.0 * np.log10(np.abs(np.fft.rfft(sound)))
    lows = [int(np.argmin(spectrum_db[: RATE_HZ // apart])), int(np.argmin(spectrum_db[RATE_HZ // apart : 666])) + 333]
    assert lows == pytest.approx(notches_hz(0.003, 2), abs=1.0)
    assert (spectrum_db.max(), spectrum_db.min()) == pytest.approx(peak_and_dip_db(-6.0), abs=0.001)


def test_sound_through_air() -> None:
    """343.2 m/s at 20 degrees: 2.914 ms a metre."""
    assert 1000.0 * sound_delay_s(1.0) == pytest.approx(2.914, abs=0.001)
    assert sound_delay_s(343.2) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("early_ms", "judged"),
    [
        (0.0, "unnoticed"),
        (45.0, "unnoticed"),
        (-125.0, "unnoticed"),
        (46.0, "noticed"),
        (-126.0, "noticed"),
        (90.0, "noticed"),
        (-185.0, "noticed"),
        (91.0, "unacceptable"),
        (-186.0, "unacceptable"),
    ],
)
def test_sound_beside_its_picture(early_ms: float, judged: str) -> None:
    """Noticed beyond 45 ms before or 125 after, unacceptable beyond 90 before or 185 after."""
    assert picture_sync(early_ms) == judged


def test_edges_are_refused() -> None:
    for apart_s, count in ((0.0, 1), (0.001, 0)):
        with pytest.raises(ValueError, match="at least one notch"):
            notches_hz(apart_s, count)
    with pytest.raises(ValueError, match="quieter than the first"):
        peak_and_dip_db(0.0)
    with pytest.raises(ValueError, match="at least zero"):
        sound_delay_s(-1.0)
