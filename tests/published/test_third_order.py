"""Third-order products: tabled levels, and the spectrum of a sampled cubic non-linearity as an independent oracle."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.third_order import (
    TRIPLE_BEAT_DB,
    spurious_free_range_db,
    three_signal_product_dbm,
    two_signal_product_dbm,
)

SAMPLES = 4_096
A, B, C = 400, 470, 560


@pytest.mark.parametrize(
    ("level_dbm", "intercept_dbm", "product_dbm"), [(-30, 0, -90), (-20, 10, -80), (-40, -10, -100)]
)
def test_two_equal_carriers(level_dbm: float, intercept_dbm: float, product_dbm: float) -> None:
    """3P - 2 IIP3."""
    assert float(two_signal_product_dbm(level_dbm, level_dbm, intercept_dbm)) == pytest.approx(product_dbm)


def test_triple_beat() -> None:
    """6.02 dB above the product of two (Hausman, Carrier Triple Beats): -83.98 dBm from three at -30."""
    assert pytest.approx(6.02, abs=0.005) == TRIPLE_BEAT_DB
    assert float(three_signal_product_dbm(-30, -30, -30, 0.0)) == pytest.approx(-83.98, abs=0.005)


def test_spurious_free_range() -> None:
    assert spurious_free_range_db(-10.0, -115.0) == pytest.approx(70.0)


def _through_a_cubic(levels_dbm: tuple[float, float, float], intercept_dbm: float) -> np.ndarray:
    """Spectrum in dBm of three carriers behind y = x - c x^3; at the intercept, 3/4 c a^2 is 1."""
    amplitudes = np.sqrt(10.0 ** (np.array(levels_dbm) / 10.0))
    moments = 2.0 * np.pi * np.arange(SAMPLES) / SAMPLES
    entering = sum(size * np.cos(bin_ * moments) for size, bin_ in zip(amplitudes, (A, B, C), strict=True))
    cubic = 4.0 / 3.0 / 10.0 ** (intercept_dbm / 10.0)
    spectrum = np.abs(np.fft.rfft(entering - cubic * entering**3)) * 2.0 / SAMPLES
    return 20.0 * np.log10(np.maximum(spectrum, 1e-12))


@pytest.mark.parametrize("levels_dbm", [(-30.0, -30.0, -30.0), (-25.0, -40.0, -33.0), (-50.0, -28.0, -31.0)])
def test_against_a_spectrum(levels_dbm: tuple[float, float, float]) -> None:
    """A product lies where, and is as strong as, the spectrum of a sampled cubic says; none of these bins is shared."""
    intercept_dbm = -7.5
    spectrum = _through_a_cubic(levels_dbm, intercept_dbm)
    a, b, c = levels_dbm
    assert float(two_signal_product_dbm(a, b, intercept_dbm)) == pytest.approx(spectrum[2 * A - B], abs=0.01)
    assert float(two_signal_product_dbm(c, a, intercept_dbm)) == pytest.approx(spectrum[2 * C - A], abs=0.01)
    assert float(three_signal_product_dbm(a, b, c, intercept_dbm)) == pytest.approx(spectrum[A + B - C], abs=0.01)


def test_slope_of_three() -> None:
    """Each dB more of all carriers is 3 dB more of a product, in the spectrum too."""
    lower, upper = (_through_a_cubic((level, level, level), 0.0)[A + B - C] for level in (-31.0, -30.0))
    assert upper - lower == pytest.approx(3.0, abs=0.001)
    found = three_signal_product_dbm([-31, -30], [-31, -30], [-31, -30], 0.0)
    assert float(np.diff(found)[0]) == pytest.approx(3.0)
