"""Vacant points against every product written out, while carriers come and go."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.planning.coordination.packing import Packing
from fleet.planning.coordination.vacancies import SPAN_MAXIMUM, Guards, Vacancies
from tests.planning.coordination.hits import breaks_with

GUARDS = st.tuples(st.integers(0, 6), st.integers(0, 5), st.integers(0, 5), st.sampled_from([0, 0, 1, 2, 4]))


def vacant_by_enumeration(problem: Packing, carriers: list[int], lowest: int, highest: int) -> list[int]:
    return [
        point
        for point in range(lowest, highest + 1)
        if point >= 0 and problem.allowed >> point & 1 and not breaks_with(problem, tuple(carriers), point)
    ]


def vacant_of(room: Vacancies) -> list[int]:
    vacant = room.vacant()
    return [room.point(bit) for bit in range(vacant.bit_length()) if vacant >> bit & 1]


@settings(max_examples=60, deadline=None)
@given(GUARDS, st.integers(1, (1 << 36) - 1), st.sets(st.integers(-9, 45), max_size=4), st.data())
def test_what_is_vacant_breaks_no_rule_and_all_else_does(
    guards: tuple[int, int, int, int], allowed: int, fixed: set[int], data: st.DataObject
) -> None:
    """Carriers that stand may break rules among themselves; others come to vacant points, and some go again."""
    spacing, two, three, fifth = guards
    problem = Packing(allowed, spacing, two, three, 99, fifth, tuple(sorted(fixed)))
    room = problem.room(problem.guards)
    lowest, highest = room.point(0), max(allowed.bit_length() - 1, max(fixed, default=0))
    for _ in range(6):
        found = vacant_of(room)
        if len(room.carriers) >= 2 or three <= max(spacing, two):
            assert found == vacant_by_enumeration(problem, room.carriers, lowest, highest)
        come = [each for each in room.carriers if each not in fixed]
        if come and (not found or data.draw(st.booleans())):
            room.take(data.draw(st.sampled_from(come)))
        elif found:
            room.add(data.draw(st.sampled_from(found)))


@pytest.mark.parametrize("fifth", [1, 2, 3, 4, 5, 6])
@pytest.mark.parametrize(("two", "three"), [(0, 0), (3, 0), (0, 2)])
def test_beside_one_carrier_and_beside_two(two: int, three: int, fifth: int) -> None:
    """3A - 2B of a pair falls twice as far from A as B is, and three times as far from B."""
    problem = Packing((1 << 40) - 1, 1, two, three, 99, fifth)
    room = problem.room(problem.guards)
    room.add(17)
    if not three:
        assert vacant_of(room) == vacant_by_enumeration(problem, [17], 0, 39)
    room.add(29)
    assert vacant_of(room) == vacant_by_enumeration(problem, [17, 29], 0, 39)


def test_products_just_below_the_lowest_point_reach_up() -> None:
    """2 x 4 - 9 is one below 0."""
    for guards in (Guards(1, 2), Guards(1, 2, 1), Guards(1, 0, 2)):
        room = Vacancies(0b11, guards, 0, 9)
        room.add(4)
        room.add(9)
        assert not room.is_vacant(0)
        assert room.is_vacant(1)


def test_two_carriers_make_no_product_of_three_signals() -> None:
    assert Packing(0b1111, 1, 0, 3, 2).guards.beside == 1
    assert Packing(0b1111, 1, 0, 3, 3).guards.beside == 3


def test_a_room_that_is_too_long_is_refused() -> None:
    with pytest.raises(ValueError, match="at most 500000 raster points"):
        Vacancies(1, Guards(), 0, SPAN_MAXIMUM + 1)
