"""Packings of one room, each held by writing out every product: sound, never worse, the same again."""

from __future__ import annotations

from itertools import combinations, count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.planning.coordination.packing import Best, Packing, at_most, pack
from tests.planning.coordination.hits import broken

WHOLE = (1 << 961) - 1
"""470 to 494 MHz in steps of 25 kHz."""
GUARDS = st.tuples(st.integers(0, 6), st.integers(0, 5), st.integers(0, 5), st.sampled_from([0, 0, 2]))


def analog(asked: int, allowed: int = WHOLE, fixed: tuple[int, ...] = ()) -> Packing:
    """400 kHz apart, products of both third-order families 100 kHz clear."""
    return Packing(allowed, 16, 4, 4, asked, 0, fixed)


def after(steps: int, best: Best) -> bool:
    return best.steps >= steps


@settings(max_examples=60, deadline=None)
@given(GUARDS, st.integers(0, (1 << 90) - 1), st.sets(st.integers(-20, 110), max_size=3), st.integers(1, 12), st.data())
def test_every_packing_keeps_all_rules(
    guards: tuple[int, int, int, int], allowed: int, fixed: set[int], asked: int, data: st.DataObject
) -> None:
    spacing, two, three, fifth = guards
    problem = Packing(allowed, spacing, two, three, asked, fifth, tuple(fixed))
    told: list[Best] = []
    best = pack(problem, data.draw(st.integers(0, 9)), lambda each: after(5, each), told.append)
    placed = [each for each in best.carriers if each not in fixed]
    assert fixed <= set(best.carriers)
    assert all(each >= 0 and allowed >> each & 1 for each in placed)
    assert not broken(problem, best.carriers)
    assert len(best.carriers) <= max(asked, len(fixed))
    numbers = [len(each.carriers) for each in told]
    assert numbers == sorted(set(numbers))


@settings(max_examples=60, deadline=None)
@given(GUARDS, st.integers(1, (1 << 12) - 1), st.sets(st.integers(-2, 13), max_size=2), st.integers(1, 5))
def test_a_small_room_is_packed_as_full_as_any_set_of_its_points(
    guards: tuple[int, int, int, int], allowed: int, fixed: set[int], asked: int
) -> None:
    """Every set of twelve points tried here; there it is proved as well, after some stretches of trying all."""
    spacing, two, three, fifth = guards
    problem = Packing(allowed, spacing, two, three, asked, fifth, tuple(fixed))
    points = [each for each in range(12) if allowed >> each & 1 and each not in fixed]
    greatest = max(
        many
        for many in range(max(asked - len(fixed), 0) + 1)
        if any(not broken(problem, (*fixed, *chosen)) for chosen in combinations(points, many))
    )
    best = pack(problem, 1, lambda each: after(40, each))
    assert len(best.carriers) == len(fixed) + greatest == best.at_most <= at_most(problem)
    assert best.final


@pytest.mark.parametrize(("marks", "length"), [(4, 6), (5, 11), (6, 17), (7, 25)])
def test_with_a_guard_of_one_step_it_proves_the_lengths_of_golomb_rulers(marks: int, length: int) -> None:
    """OEIS A003022: a ruler of so many marks is no shorter, so a room one point shorter holds one carrier less."""
    for points, expected in ((length, marks - 1), (length + 1, marks)):
        best = pack(Packing((1 << points) - 1, 1, 1, 1, 99), 1, lambda each: after(2_000, each))
        assert (len(best.carriers), best.at_most) == (expected, expected)


def test_two_megahertz_hold_no_fifth_carrier() -> None:
    """With every set of raster points tried; counting alone would let six through."""
    problem = analog(99, (1 << 81) - 1)
    best = pack(problem, 1, lambda each: after(400, each))
    assert (len(best.carriers), best.at_most, at_most(problem)) == (4, 4, 6)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_window_of_24_megahertz_holds_seventeen(seed: int) -> None:
    """Common practice has 100 kHz as the guard of the third order; 16 were known to fit before."""
    print(f"seed {seed}")
    best = pack(analog(17), seed, lambda each: after(400, each))
    assert best.final
    assert len(best.carriers) == 17
    assert not broken(analog(17), best.carriers)


def test_the_same_seed_and_steps_make_the_same_packing_and_another_seed_another() -> None:
    holes = sum(((1 << 40) - 1) << start for start in range(0, 961, 80))
    first, again, other = (pack(analog(40, holes), seed, lambda each: after(120, each)) for seed in (5, 5, 6))
    assert first == again
    assert first.steps == 120
    assert other.carriers != first.carriers
    assert not broken(analog(40, holes), first.carriers)


def test_holes_cost_fewer_carriers_than_points() -> None:
    """Half of the points are excluded, in blocks of a megahertz."""
    holes = sum(((1 << 40) - 1) << start for start in range(0, 961, 80))
    best = pack(analog(13, holes), 1, lambda each: after(200, each))
    assert len(best.carriers) == 13
    assert all(holes >> each & 1 for each in best.carriers)
    assert not broken(analog(13, holes), best.carriers)


def test_carriers_that_stand_are_kept_and_kept_off_from() -> None:
    fixed = (-300, 100, 104, 777, 2_000)
    best = pack(analog(16, fixed=fixed), 1, lambda each: after(30, each))
    assert set(fixed) < set(best.carriers)
    assert not broken(analog(16, fixed=fixed), best.carriers)


def test_without_guards_it_packs_as_close_as_spacing_goes_and_says_that_this_is_all() -> None:
    best = pack(Packing((1 << 100) - 1, 10, 0, 0, 99), 1, lambda _: False)
    assert best == Best(tuple(range(0, 100, 10)), 1, 10)
    assert best.final


def test_a_pair_stands_closer_than_a_product_of_three_would_let_it() -> None:
    assert pack(Packing(0b11111, 2, 0, 9, 3), 1, lambda each: after(9, each)).carriers == (0, 2)


def test_nothing_is_looked_for_where_nothing_can_be_found() -> None:
    assert pack(Packing(0, 1, 1, 1, 5), 1, lambda _: False) == Best((), 0, 0)
    assert pack(Packing(7, 1, 1, 1, 2, fixed=(9, 3, 5)), 1, lambda _: False) == Best((3, 5, 9), 0, 3)
    assert pack(Packing(7, 1, 1, 1, 0), 1, lambda _: False) == Best((), 0, 0)


def test_told_to_stop_it_asks_after_every_step() -> None:
    asked = count()
    best = pack(analog(40), 1, lambda _: next(asked) == 3)
    assert best.steps == 3
    assert pack(analog(40), 1, lambda _: True).steps == 0


@pytest.mark.parametrize(
    "problem",
    [Packing(-1, 1, 1, 1, 1), Packing(1, -1, 1, 1, 1), Packing(1, 1, 1, 1, -1), Packing(1, 1, 1, 1, 5, 0, (3, 3))],
)
def test_nonsense_is_refused(problem: Packing) -> None:
    with pytest.raises(ValueError, match=r"negative|once"):
        pack(problem, 1, lambda _: True)
