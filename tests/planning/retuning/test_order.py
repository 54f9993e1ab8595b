"""The order of retunes: never two on one frequency, in no half step, with as few as can be that step aside."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.model.retune import StepKind
from fleet.planning.retuning.links import End, Held, Link, Room
from fleet.planning.retuning.order import NO_PLACE_ASIDE, safe_order
from tests.planning.retuning.half_steps import Stage, fewest_moves

MHZ = 1_000_000
A, B, C, D, E = (hz * MHZ for hz in (500, 501, 502, 503, 504))
SPACING_HZ = 400_000


def link(name: str, from_hz: int, to_hz: int, spacing_hz: int = SPACING_HZ, place: str = "") -> Link:
    """A pack and its carrier on one frequency."""
    ends = (End(f"pack/{name}", from_hz), End(f"rack/carrier/{name}", from_hz))
    return Link(name, ends, to_hz, spacing_hz, place)


def kinds(room: Room, *, may_sleep: bool = False) -> list[tuple[str, str, int | None]]:
    """The order in short, played through every half step first."""
    order = safe_order(room, may_sleep=may_sleep)
    Stage(room).play(order)
    return [(step.kind.value, step.link_id, step.to_hz) for step in order.steps]


def test_a_chain_moves_from_its_free_end() -> None:
    room = Room((link("k1", A, B), link("k2", B, C), link("k3", C, D)))
    assert kinds(room) == [("move", "k3", D), ("move", "k2", C), ("move", "k1", B)]


def test_the_pack_goes_before_the_receiver_and_only_what_must() -> None:
    half = Link("k1", (End("pack/k1", A), End("r/carrier/1", B)), A)
    (step,) = safe_order(Room((half,))).steps
    assert step.ends == (End("r/carrier/1", B),)
    (whole,) = safe_order(Room((link("k2", A, B),))).steps
    assert [end.address for end in whole.ends] == ["pack/k2", "rack/carrier/k2"]


def test_two_that_change_places_need_one_aside() -> None:
    room = Room((link("k1", A, B), link("k2", B, A)), parking_hz=(D,))
    assert kinds(room) == [("park", "k1", D), ("move", "k2", A), ("move", "k1", B)]
    assert (safe_order(room).aside, safe_order(room).fewest) == (1, True)


def test_of_two_circles_with_one_in_common_that_one_alone_steps_aside() -> None:
    near = 200_000
    links = (
        link("k2", B - near, A - near),
        link("k3", B + near, A + near),
        link("k1", A, B),  # Between both, and both between it.
    )
    room = Room(links, parking_hz=(D, E))
    assert kinds(room)[0] == ("park", "k1", D)
    assert (safe_order(room).aside, safe_order(room).fewest) == (1, True)


def test_two_circles_use_one_frequency_one_after_the_other() -> None:
    links = (link("k1", A, B), link("k2", B, A), link("k3", C, D), link("k4", D, C))
    order = safe_order(Room(links, parking_hz=(E,)))
    assert [step.to_hz for step in order.steps if step.kind is StepKind.PARK] == [E, E]
    assert (order.aside, order.blocked) == (2, ())


def test_without_a_free_frequency_nothing_of_a_circle_moves_and_it_says_why() -> None:
    room = Room((link("k1", A, B), link("k2", B, A), link("k3", C, A), link("k4", D, E)))
    order = safe_order(room)
    assert [step.link_id for step in order.steps] == ["k4"]
    assert {each.link_id: each.reason for each in order.blocked} == {
        "k1": NO_PLACE_ASIDE,
        "k2": NO_PLACE_ASIDE,
        "k3": "its new frequency is held by what stays where it is",
    }


def test_sleep_breaks_a_circle_by_choice_alone_and_the_wake_comes_last() -> None:
    one, two = link("k1", A, B), replace(link("k2", B, A), sleeps=True)
    room = Room((one, two))
    assert kinds(room) == []
    assert kinds(room, may_sleep=True) == [("sleep", "k2", None), ("move", "k1", B), ("wake", "k2", A)]


def test_a_free_frequency_is_taken_before_anybody_sleeps() -> None:
    room = Room((replace(link("k1", A, B), sleeps=True), link("k2", B, A)), parking_hz=(D,))
    assert [kind for kind, _, _ in kinds(room, may_sleep=True)] == ["park", "move", "move"]


def test_a_pack_that_needs_a_hand_is_not_the_one_that_moves_twice() -> None:
    room = Room((replace(link("k1", A, B), by_hand=True), link("k2", B, A)), parking_hz=(D,))
    assert kinds(room)[0] == ("park", "k2", D)


def test_what_stays_keeps_others_out_and_is_named() -> None:
    room = Room((replace(link("k1", A, B), stays="read only"), link("k2", C, A), link("k3", D, C)))
    blocked = {each.link_id: (each.reason, each.by) for each in safe_order(room).blocked}
    assert blocked["k1"] == ("read only", ())
    assert blocked["k2"][1] == ("k1",)
    assert blocked["k3"][1] == ("k2",)


def test_a_stranger_on_the_new_frequency_is_an_obstacle_and_no_place_to_park() -> None:
    assert safe_order(Room((link("k1", A, B),), held=(Held(B + 300_000),))).blocked[0].link_id == "k1"
    room = Room((link("k1", A, B), link("k2", B, A)), held=(Held(D),), parking_hz=(D, E))
    assert kinds(room)[0] == ("park", "k1", E)


def test_links_that_do_not_hear_one_another_may_meet() -> None:
    links = (link("k1", A, B, place="House"), link("k2", B, B, place="Quay"))
    assert safe_order(Room(links)).blocked != ()
    assert kinds(Room(links, apart=frozenset({("Quay", "House")}))) == [("move", "k1", B)]


def test_parking_keeps_out_of_the_way_of_those_still_to_come() -> None:
    links = (link("k1", A, B), link("k2", B, A), link("k3", C, D))
    order = safe_order(Room(links, parking_hz=(D, E)))
    assert [step.to_hz for step in order.steps if step.kind is StepKind.PARK] == [E]


def test_nobody_parks_where_its_ends_can_not_tune() -> None:
    room = Room((link("k1", A, B), link("k2", B, A)), parking_hz=(D, E), tunes=lambda name, hz: (name, hz) == ("k2", E))
    assert kinds(room)[0] == ("park", "k2", E)


def test_who_shares_a_frequency_to_begin_with_is_parted() -> None:
    assert kinds(Room((link("k1", A, A), link("k2", A, C)))) == [("move", "k2", C)]


def test_five_hundred_in_one_circle_are_brought_home_with_one_aside() -> None:
    names = range(500)
    links = tuple(link(f"k{n}", 400 * MHZ + n * SPACING_HZ, 400 * MHZ + (n + 1) % 500 * SPACING_HZ) for n in names)
    order = safe_order(Room(links, parking_hz=(400 * MHZ - SPACING_HZ,)))
    assert (len(order.steps), order.aside, order.blocked) == (501, 1, ())


# ------------------------------------------------------------ at random

RASTER_HZ = 200_000


@st.composite
def rooms(draw: st.DrawFn, most: int = 9, free: int = 3, *, one_grid: bool = False) -> Room:
    """Links on their way from one valid plan to another, with chains and circles, strangers, and a few free places."""
    count = draw(st.integers(min(2, most), most))
    free = draw(st.integers(0, free))
    spacing_hz = draw(st.sampled_from([0, RASTER_HZ, 2 * RASTER_HZ, 3 * RASTER_HZ]))
    step = max(RASTER_HZ, spacing_hz)
    places = [500 * MHZ + number * step for number in range(count + free)]
    now = draw(st.permutations(places))[:count]
    target = draw(st.permutations(draw(st.sampled_from([places, now]))))[:count]
    shift = draw(st.sampled_from([0, step // RASTER_HZ // 2 * RASTER_HZ])) if spacing_hz and not one_grid else 0
    links = tuple(
        replace(
            link(f"k{number}", now[number], target[number] + shift, spacing_hz),
            sleeps=draw(st.booleans()),
            by_hand=draw(st.booleans()),
            stays=draw(st.sampled_from(["", "", "", "", "", "", "", "", "is read only"])),
        )
        for number in range(count)
    )
    held = tuple(Held(hz, spacing_hz) for hz in draw(st.sampled_from([[], [], [draw(st.sampled_from(places))]])))
    beyond = [places[-1] + number * step for number in (1, 2)]
    parking = (*draw(st.permutations(places))[:3], *draw(st.sampled_from([[], beyond[:1], beyond])))
    return Room(links, held, frozenset(), parking)


@given(room=rooms(), may_sleep=st.booleans())
@settings(max_examples=100, deadline=None)
def test_no_half_step_ever_puts_two_on_one_frequency(room: Room, may_sleep: bool) -> None:
    order = safe_order(room, may_sleep=may_sleep)
    stage = Stage(room)
    stage.play(order)
    left_behind = {each.link_id for each in order.blocked}
    for each in room.links:
        on = set().union(*stage.ends[each.link_id].values())
        assert each.link_id not in stage.asleep
        assert on == (set(each.stands_hz) if each.link_id in left_behind else {each.target_hz})
    assert {step.kind for step in order.steps} <= {StepKind.MOVE, StepKind.PARK} or may_sleep


@given(room=rooms(most=4, free=2))
@settings(max_examples=60, deadline=None)
def test_no_order_needs_fewer_moves(room: Room) -> None:
    order = safe_order(room)
    if order.blocked:
        return
    least = fewest_moves(room)
    assert least is not None
    assert len(order.steps) >= least
    assert len(order.steps) == least or not order.fewest


@given(room=rooms(most=4, free=2, one_grid=True))
@settings(max_examples=60, deadline=None)
def test_what_it_calls_impossible_is_impossible_where_there_is_room(room: Room) -> None:
    """Where every link can go anywhere and any place may be parked on, all come home if any order brings them home."""
    places = sorted({each.target_hz for each in room.links} | {hz for each in room.links for hz in each.stands_hz})
    loose = replace(
        room, links=tuple(replace(each, stays="") for each in room.links), parking_hz=tuple({*room.parking_hz, *places})
    )
    if safe_order(loose).blocked:
        assert fewest_moves(loose) is None
