"""Sets of algebra laid onto rooms: only onto free points, spaced, and clear of all third-order products."""

from __future__ import annotations

from itertools import islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.planning.coordination.difference_sets import DifferenceSet, bose, singer
from fleet.planning.coordination.packing import Packing
from fleet.planning.coordination.rulers import Ruler, rulers
from tests.planning.coordination.hits import broken


@settings(max_examples=40, deadline=None)
@given(st.integers(1, (1 << 150) - 1), st.integers(1, 4), st.integers(0, 9), st.integers(0, 4))
def test_what_is_laid_is_free_spaced_and_clear(free: int, unit: int, spacing: int, than: int) -> None:
    for ruler in islice(rulers(free, unit, spacing), 0, 400, 40):
        points = ruler.fullest(than)
        assert not points or len(points) > than
        assert all(free >> each & 1 for each in points)
        assert not broken(Packing(free, spacing, unit, unit, 99), points)


@pytest.mark.parametrize("made", [singer(5), bose(7), singer(7)])
def test_a_set_shorter_than_its_room_uses_each_mark_once(made: DifferenceSet) -> None:
    """A room of three turns of the set: places that fold onto one another are never both taken."""
    ruler = Ruler(b"\1" * (3 * made.modulus), 2, 1, 2, made.marks, made.modulus)
    points = ruler.fullest(0)
    assert len(points) == len(made.marks)
    assert len({(each - 1) // 2 % made.modulus for each in points}) == len(points)
    assert not broken(Packing((1 << 6 * made.modulus + 2) - 1, 2, 2, 2, 99), points)


def test_every_phase_of_the_unit_is_tried_and_then_it_ends() -> None:
    found = list(rulers((1 << 30) - 1, 3, 3))
    assert {each.phase for each in found} == {0, 1, 2}
    assert len({(each.phase, each.modulus, each.marks) for each in found}) == len(found)


def test_where_nothing_is_free_nothing_is_laid() -> None:
    assert list(rulers(0, 4, 16)) == []
