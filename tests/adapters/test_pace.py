"""How fast things may go."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from fleet.adapters.pace import Flood, Pace, back_off_s

SECOND_US = 1_000_000


@given(asked_ms=st.lists(st.integers(0, 3_000), min_size=1, max_size=200))
def test_turns_come_in_order_and_never_too_fast(asked_ms: list[int]) -> None:
    pace = Pace(50.0)
    turns = [now * 1_000 + round(pace.wait_s(now * 1_000) * SECOND_US) for now in sorted(asked_ms)]
    assert turns == sorted(turns)
    assert all(later - earlier >= SECOND_US // 50 for earlier, later in itertools.pairwise(turns))


def test_nobody_waits_while_nobody_else_does() -> None:
    pace = Pace(50.0)
    assert [pace.wait_s(second * SECOND_US) for second in range(5)] == [0.0] * 5


def test_a_flood_is_counted_by_the_second() -> None:
    flood = Flood(3, now_us=0)
    assert [flood.full() for _ in range(4)] == [False, False, False, True]
    assert not flood.exceeded(SECOND_US), "four in just a second are not four within one"
    assert [flood.full(weight) for weight in (1, 2, 1)] == [False, False, True]
    assert flood.exceeded(SECOND_US + 500_000)


@given(attempt=st.integers(1, 10_000), seed=st.integers(0, 100))
def test_a_pause_lies_between_half_and_all_of_a_doubling_bound(attempt: int, seed: int) -> None:
    pause_s = back_off_s(attempt, 0.5, 4.0, np.random.default_rng(seed))
    whole = {1: 0.5, 2: 1.0, 3: 2.0}.get(attempt, 4.0)
    assert whole / 2 <= pause_s <= whole
