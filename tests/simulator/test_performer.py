from __future__ import annotations

import numpy as np
import pytest

from simulator.performer import SWAY_M_S, Walks
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
    assert walks.at_block(7).speed_m_s.tolist() == [SWAY_M_S]


def test_a_performer_is_where_it_is_whoever_else_walks() -> None:
    alone = Walks([(LINE, 2.0)], BLOCK_S)
    among = Walks([(STILL, 0.0), (LINE, 2.0), (STILL, 1.0)], BLOCK_S)
    for block in range(0, 1000, 37):
        assert np.array_equal(alone.at_block(block).position_m[0], among.at_block(block).position_m[1])
