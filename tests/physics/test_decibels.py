from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from fleet.physics.decibels import dbm_from_mw, mw_from_dbm, sum_db


def test_two_equal_powers_are_three_decibels_more() -> None:
    """10 log10 2 = 3.0103."""
    assert sum_db(-50.0, -50.0) == pytest.approx(-46.9897, abs=1e-4)


@pytest.mark.parametrize(("level_dbm", "power_mw"), [(-90.0, 1e-9), (-30.0, 1e-3), (0.0, 1.0), (30.0, 1e3)])
def test_levels_of_round_powers(level_dbm: float, power_mw: float) -> None:
    """One picowatt, microwatt, milliwatt and watt against one milliwatt, each by the definition (ITU-R V.574)."""
    assert mw_from_dbm(level_dbm) == pytest.approx(power_mw, rel=1e-12)
    assert dbm_from_mw(power_mw) == pytest.approx(level_dbm, abs=1e-9)


@given(level_dbm=some.floats(-160.0, 60.0))
def test_ten_decibels_are_ten_times_the_power(level_dbm: float) -> None:
    """The definition of the decibel (ITU-R V.574)."""
    power_mw = mw_from_dbm(level_dbm)
    assert mw_from_dbm(level_dbm + 10.0) == pytest.approx(10.0 * power_mw, rel=1e-9)
    assert dbm_from_mw(10.0 * power_mw) - dbm_from_mw(power_mw) == pytest.approx(10.0, abs=1e-9)
