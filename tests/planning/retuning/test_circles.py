"""Who must step aside of those who wait in circles: the fewest, held against trying every set."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.planning.retuning.circles import Aside, Waits, core, fewest_aside, first_tangle

NAMES = "abcdefg"


def has_circle(waits: Waits, gone: frozenset[str]) -> bool:
    """Whether the standard library can't sort what is left."""
    left = {name: [one for one in after if one not in gone] for name, after in waits.items() if name not in gone}
    try:
        tuple(TopologicalSorter(left).static_order())
    except CycleError:
        return True
    return False


def by_trying(waits: Waits, able: frozenset[str]) -> int | None:
    for count in range(len(able) + 1):
        if any(not has_circle(waits, frozenset(gone)) for gone in combinations(sorted(able), count)):
            return count
    return None


@st.composite
def tangled(draw: st.DrawFn) -> Waits:
    names = NAMES[: draw(st.integers(2, len(NAMES)))]
    others = {name: st.sampled_from([each for each in names if each != name]) for name in names}
    return {name: tuple(draw(st.lists(others[name], unique=True))) for name in names}


def test_who_is_on_no_circle_is_left_out() -> None:
    waits = {"a": ("b",), "b": ("a",), "c": ("a",), "d": ("c",), "e": ()}
    assert core(waits) == {"a": ("b",), "b": ("a",)}


def test_a_tangle_too_large_to_be_proved_is_broken_all_the_same_and_said_to_be() -> None:
    names = [f"n{number}" for number in range(150)]
    waits = {name: tuple(names[(7 * place + step) % 150] for step in (1, 11, 40)) for place, name in enumerate(names)}
    waits = {name: tuple(one for one in after if one != name) for name, after in waits.items()}
    tangle = first_tangle(waits)
    found = fewest_aside(tangle, lambda _: True)
    assert found is not None
    assert not found.fewest
    assert not has_circle(tangle, frozenset(found.names))


def test_two_circles_with_one_in_common_need_that_one_alone() -> None:
    waits = {"a": ("b",), "b": ("a", "c"), "c": ("b",)}
    assert fewest_aside(waits, lambda _: True) == Aside(("b",), fewest=True)
    assert fewest_aside(waits, lambda name: name != "b") == Aside(("a", "c"), fewest=True)
    assert fewest_aside(waits, lambda name: name == "a") is None


@given(waits=tangled(), able=st.frozensets(st.sampled_from(NAMES)))
@settings(max_examples=80, deadline=None)
def test_no_smaller_set_frees_a_tangle(waits: Waits, able: frozenset[str]) -> None:
    tangle = first_tangle(waits)
    assert bool(tangle) == has_circle(waits, frozenset())
    least = by_trying(tangle, able & frozenset(tangle))
    found = fewest_aside(tangle, able.__contains__)
    if least is None or found is None:
        assert (least, found) == (None, None)
        return
    assert found.fewest
    assert len(found.names) == least
    assert not has_circle(tangle, frozenset(found.names))
