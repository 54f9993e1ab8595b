from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from fleet.physics.decibels import dbm_from_mw, mw_from_dbm, sum_db


def test_two_equal_powers_are_three_decibels_more() -> None:
    """10 log10 2 = 3.0103."""
    assert sum_db(-50.0, -50.0) == pytest.approx(-46.9897, abs=1e-4)


@given(level_dbm=some.floats(-160.0, 60.0))
def test_there_and_back(level_dbm: float) -> None:
    assert dbm_from_mw(mw_from_dbm(level_dbm)) == pytest.approx(level_dbm, abs=1e-9)
