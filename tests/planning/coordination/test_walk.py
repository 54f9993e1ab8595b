"""Walks: no more than asked for, what stood at first stays, every stretch sound."""

from __future__ import annotations

import pytest

from fleet.planning.coordination.packing import Packing
from fleet.planning.coordination.vacancies import Vacancies
from fleet.planning.coordination.walk import FORGOTTEN, PATIENCE, Luck, Walk
from tests.planning.coordination.hits import broken

HALF = sum(((1 << 20) - 1) << start for start in range(0, 400, 40))
PROBLEM = Packing(HALF, 8, 3, 3, 99, 0, (50, 131))


def room() -> Vacancies:
    return PROBLEM.room(PROBLEM.guards)


def test_it_begins_with_no_more_than_are_asked_for() -> None:
    walk = Walk(room(), 4, Luck(1))
    walk.begin((0, 9, 80, 320, 371))
    assert len(walk.carriers) == 4
    assert {50, 131} < set(walk.carriers)
    walk.stretch()
    assert len(walk.carriers) == 4


def test_it_begins_where_it_is_told_as_far_as_that_breaks_no_rule() -> None:
    walk = Walk(room(), 99, Luck(1))
    walk.begin((0, 1, 25, 85, 330))
    assert {0, 85, 330} < set(walk.carriers)
    assert not {1, 25} & set(walk.carriers)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_stretch_is_sound_and_keeps_what_stood(seed: int) -> None:
    """For so long that it loses patience and forgets some carriers more than once."""
    print(f"seed {seed}")
    walk, seen = Walk(room(), 99, Luck(seed)), set[tuple[int, ...]]()
    for _ in range(2 * PATIENCE + FORGOTTEN):
        found = walk.stretch()
        assert {50, 131} <= set(found)
        assert len(found) >= 2
        seen.add(found)
    assert len(seen) > PATIENCE // 4
    assert not any(broken(PROBLEM, found) for found in list(seen)[:20])
    assert not broken(PROBLEM, walk.carriers)


def test_luck_draws_only_bits_that_are_set_and_all_of_them() -> None:
    luck, bits = Luck(1), 0b1010_0110_0001
    drawn = {luck.bit(bits) for _ in range(200)}
    assert drawn == {0, 5, 6, 9, 11}
    assert {luck.below(3) for _ in range(50)} == {0, 1, 2}
    assert [Luck(4).below(1_000) for _ in range(3)] == [Luck(4).below(1_000)] * 3
