"""Walls, bodies, filters: plain geometry by hand, and what is stated as an assumption is as stated."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.physics.body import FRONT_SHARE, body_shadow_db
from fleet.physics.selectivity import LEFT_DB, OFFSETS_HZ, REACH_HZ, selectivity_db
from fleet.physics.walls import crossings

WALLS = np.array([[[0.0, -1.0], [0.0, 1.0]], [[5.0, 0.0], [5.0, 10.0]]])
PLACE = st.floats(-20.0, 20.0).map(lambda value: round(value, 3) + 0.0005)


@pytest.mark.parametrize(
    ("start", "end", "crossed"),
    [
        ((-1.0, 0.0), (1.0, 0.0), [True, False]),
        ((-1.0, 2.0), (1.0, 2.0), [False, False]),
        ((-1.0, 0.5), (6.0, 0.5), [True, True]),
        ((1.0, 0.0), (2.0, 0.0), [False, False]),
        ((-1.0, 0.0), (0.0, 0.0), [False, False]),  # It ends on the wall.
        ((0.0, -0.5), (0.0, 0.5), [False, False]),  # It runs along it.
    ],
)
def test_crossings(start: tuple[float, float], end: tuple[float, float], crossed: list[bool]) -> None:
    """On squared paper: a wall of 2 m across the origin, one of 10 m upwards from (5, 0)."""
    assert crossings([start], [end], WALLS).tolist() == [crossed]


@given(st.tuples(PLACE, PLACE), st.tuples(PLACE, PLACE))
def test_a_way_back_crosses_the_same_walls(start: tuple[float, float], end: tuple[float, float]) -> None:
    assert np.array_equal(crossings([start], [end], WALLS), crossings([end], [start], WALLS))


@given(st.floats(-10.0, 10.0), st.floats(0.0, 60.0))
def test_a_body_only_takes_away_and_most_behind(azimuth_rad: float, behind_db: float) -> None:
    """What the literature supports: only power removed, dependent on azimuth, greatest behind the body."""
    loss_db = float(body_shadow_db(azimuth_rad, behind_db))
    assert behind_db * FRONT_SHARE - 1e-9 <= loss_db <= behind_db + 1e-9
    assert float(body_shadow_db(np.pi, behind_db)) == pytest.approx(behind_db)
    with pytest.raises(ValueError, match="takes away"):
        body_shadow_db(azimuth_rad, -0.1)


@given(st.floats(0.0, 5e6))
def test_filters_pass_the_middle_and_less_and_less_beside_it(offset_hz: float) -> None:
    found = float(selectivity_db(offset_hz))
    assert found == float(selectivity_db(-offset_hz))
    assert LEFT_DB[-1] <= found <= LEFT_DB[0] == 0.0
    assert found >= float(selectivity_db(offset_hz + 1e4))
    assert float(selectivity_db(REACH_HZ)) == LEFT_DB[OFFSETS_HZ.index(REACH_HZ)]
