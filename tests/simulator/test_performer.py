from __future__ import annotations

import numpy as np
import pytest

from simulator.performer import FRONT_RAD, Walks
from simulator.scenario import Walk

BLOCK_S = 0.1
LINE = Walk("Line", ((0.0, 0.0, 0.0), (10.0, 10.0, 0.0), (20.0, 0.0, 0.0)))
STILL = Walk("Still", ((0.0, 3.0, 4.0),))


def test_somebody_walks_a_metre_a_second_and_back() -> None:
    walks = Walks([(LINE, 0.0), (LINE, 5.0), (STILL, 0.0)], BLOCK_S)
    places = [walks.at_block(block).position_m[:, 0].tolist() for block in (0, 50, 100, 150, 200)]
    assert places == [
        pytest.approx([0.0, 5.0, 3.0]),
        pytest.approx([5.0, 10.0, 3.0]),
        pytest.approx([10.0, 5.0, 3.0]),
        pytest.approx([5.0, 0.0, 3.0]),
        pytest.approx([0.0, 5.0, 3.0]),  # The loop begins anew.
    ]
    assert walks.at_block(20).speed_m_s[0] == pytest.approx(1.0)


def test_nobody_is_ever_wholly_still() -> None:
    walks = Walks([(STILL, 0.0)], BLOCK_S)
    assert walks.at_block(7).speed_m_s.tolist() == [STILL.pace_m_s]
    assert walks.at_block(7).heading_rad.tolist() == [FRONT_RAD]


def test_whoever_marks_time_moves_the_field_at_that_pace_though_not_the_place() -> None:
    """By hand: 1.5 m/s for 60 s is 90 m, whatever the length of the loop."""
    marching = Walk("Marching", ((0.0, 3.0, 4.0), (7.0, 3.0, 4.0)), pace_m_s=1.5)
    walks = Walks([(marching, 0.0)], BLOCK_S)
    before, after = walks.at_block(0), walks.at_block(600)
    assert np.array_equal(before.position_m, after.position_m)
    assert np.hypot(*(after.field_m - before.field_m)[0]) == pytest.approx(90.0)
    assert after.speed_m_s[0] == 1.5


def test_whoever_walks_marks_no_time_and_looks_where_they_go() -> None:
    walks = Walks([(LINE, 0.0)], BLOCK_S)
    there, back = walks.at_block(30), walks.at_block(130)
    assert np.array_equal(there.field_m, there.position_m)
    assert there.heading_rad[0] == pytest.approx(0.0)
    assert abs(back.heading_rad[0]) == pytest.approx(np.pi)


def test_whoever_has_stopped_looks_where_they_came_to() -> None:
    walk = Walk("Up and wait", ((0.0, 0.0, 0.0), (5.0, 0.0, 5.0), (20.0, 0.0, 5.0)))
    assert Walks([(walk, 0.0)], BLOCK_S).at_block(150).heading_rad[0] == pytest.approx(np.pi / 2.0)


def test_a_performer_is_where_it_is_whoever_else_walks() -> None:
    alone = Walks([(LINE, 2.0)], BLOCK_S)
    among = Walks([(STILL, 0.0), (LINE, 2.0), (STILL, 1.0)], BLOCK_S)
    for block in range(0, 1000, 37):
        assert np.array_equal(alone.at_block(block).position_m[0], among.at_block(block).position_m[1])
