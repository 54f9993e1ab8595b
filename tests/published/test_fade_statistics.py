"""Theory of fading against Rice 1944/45, Clarke 1968, Jakes 1974 and worked examples of a textbook (Rappaport)."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.fade_statistics import (
    crossing_rate_hz,
    crossing_rate_of_two_hz,
    fade_duration_s,
    rayleigh_level_db,
    rayleigh_share_below,
)

# Level about the rms in dB; at 3 Hz crossings a second and milliseconds; the share of the time below.
TABLE = [
    (0.0, 2.7664, 228.50, 0.63212),
    (-3.0, 3.2251, 122.22, 0.39419),
    (-10.0, 2.1517, 44.227, 0.095163),
    (-20.0, 0.74451, 13.365, 0.0099502),
    (-30.0, 0.2376, 4.207, 9.9950e-4),
]


@pytest.mark.parametrize(("level_db", "rate_hz", "fade_ms", "share"), TABLE)
def test_table_at_three_hertz(level_db: float, rate_hz: float, fade_ms: float, share: float) -> None:
    assert rayleigh_share_below(level_db) == pytest.approx(share, rel=1e-4)
    assert crossing_rate_hz(level_db, 3.0) == pytest.approx(rate_hz, rel=2e-4)
    assert 1000.0 * fade_duration_s(level_db, 3.0) == pytest.approx(fade_ms, rel=2e-4)
    assert crossing_rate_hz(level_db, 3.0) * fade_duration_s(level_db, 3.0) == pytest.approx(share, rel=1e-4)


def test_greatest_rate() -> None:
    """At rho = 1 / sqrt 2, and 1.0750 fd there."""
    top_db = 10.0 * np.log10(0.5)
    assert crossing_rate_hz(top_db, 1.0) == pytest.approx(1.0750, abs=1e-4)
    assert np.all(crossing_rate_hz([top_db - 0.5, top_db + 0.5], 1.0) < crossing_rate_hz(top_db, 1.0))


@pytest.mark.parametrize(("share", "level_db"), [(0.01, -19.978), (0.001, -29.998), (0.1, -9.773)])
def test_level_by_share(share: float, level_db: float) -> None:
    """Exceeded 99, 99.9 and 90 per cent of the time."""
    assert rayleigh_level_db(share) == pytest.approx(level_db, abs=0.002)


def test_median() -> None:
    assert rayleigh_level_db(0.5) == pytest.approx(-1.5917, abs=0.001)


def test_better_of_two() -> None:
    """At 3 Hz and -10 dB: 0.40952 crossings a second of 22.11 ms, half as long as one branch's."""
    rate = crossing_rate_of_two_hz(-10.0, 3.0)
    assert rate == pytest.approx(0.40952, rel=1e-4)
    assert 1000.0 * rayleigh_share_below(-10.0) ** 2 / rate == pytest.approx(22.11, abs=0.01)


def test_worked_examples() -> None:
    """Rappaport: rho 1 at 20 Hz is 18.44/s; at 200 Hz fades of 19.95 us, 200.5 us, 3.427 ms; at 0.707, 18.30 ms."""
    assert crossing_rate_hz(0.0, 20.0) == pytest.approx(18.44, abs=0.01)
    assert fade_duration_s([-40.0, -20.0, 0.0], 200.0) == pytest.approx([19.95e-6, 200.5e-6, 3.427e-3], rel=1e-3)
    assert fade_duration_s(20.0 * np.log10(0.707), 20.0) == pytest.approx(18.30e-3, rel=1e-3)


def test_shares_outside_are_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        rayleigh_level_db([0.5, 1.0])


def test_whoever_stands_still_crosses_nothing() -> None:
    assert crossing_rate_hz(-10.0, 0.0) == 0.0
    with pytest.raises(ValueError, match="no end"):
        fade_duration_s(-10.0, 0.0)
    with pytest.raises(ValueError, match="at least zero"):
        crossing_rate_hz(-10.0, -1.0)
