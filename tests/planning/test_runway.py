"""Runways, worked out by hand; and against a reckoning that goes minute by minute. Margins are common practice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.production import Production
from fleet.model.running_order import NO_ORDER
from fleet.model.show import NO_SHOW, ShowPhase, ShowPlace
from fleet.planning.runway import Runways, entering, minutes_needed
from tests.planning.evening import BEGAN, CUES, MINUTE_US, ORDER, PRODUCTION, SWAPPED, after, running

WITH_SWAP = replace(PRODUCTION, order=replace(ORDER, swaps=(SWAPPED,)))


def minute(at_us: int) -> float:
    return (at_us - BEGAN.monotonic_us) / MINUTE_US


@pytest.mark.parametrize(
    ("pack", "needed"),
    [
        # Keeper: at 20, to the end of dawn at 95 are 75 minutes, of which 25 asleep count a fifth: 50 + 5 + 45.
        ("pack/k01", 100.0),
        # Pilot: to the end of the harbour at 40: 20 + 45.
        ("pack/k03", 65.0),
        # Fiddler: to 95, never asleep: 75 + 45.
        ("pack/k17", 120.0),
        # Crier was on the quay alone.
        ("pack/k18", 0.0),
        # The spare is in no cue.
        ("pack/k16", 0.0),
        ("pack/elsewhere", None),
    ],
)
def test_cells_must_last_to_the_last_cue_and_the_margin(pack: str, needed: float | None) -> None:
    assert minutes_needed(PRODUCTION, running("harbour", 10), pack, after(20)) == needed


def test_a_late_show_needs_more_and_a_shorter_margin_less() -> None:
    # Eight minutes late at the harbour, three of them after the pause: Fiddler needs three more.
    assert minutes_needed(PRODUCTION, running("harbour", 18), "pack/k17", after(20)) == 123.0
    short = replace(PRODUCTION, practice=replace(PRODUCTION.practice, swap_margin_min=10))
    assert minutes_needed(short, running("harbour", 10), "pack/k17", after(20)) == 85.0


def test_a_planned_swap_ends_the_need_of_the_cells_of_now() -> None:
    show = running("harbour", 10)
    assert minutes_needed(WITH_SWAP, show, "pack/k01", after(20)) == 65.0  # To 40, and the margin.
    assert minutes_needed(WITH_SWAP, running("interval", 40), "pack/k01", after(45)) == 0.0
    # In the storm, begun at 65, the new cells must last to 95: 30 + 45.
    assert minutes_needed(WITH_SWAP, running("storm", 65), "pack/k01", after(65)) == 75.0


def test_before_the_show_the_whole_evening_is_needed_and_after_it_nothing() -> None:
    # Keeper: 95 minutes, 25 of them asleep: 70 + 5 + 45.
    assert minutes_needed(PRODUCTION, NO_SHOW, "pack/k01", after(0)) == 120.0
    assert minutes_needed(PRODUCTION, ShowPlace(phase=ShowPhase.OVER), "pack/k01", after(99)) == 0.0


def test_without_a_running_order_nothing_is_known() -> None:
    assert minutes_needed(replace(PRODUCTION, order=NO_ORDER), NO_SHOW, "pack/k01", after(0)) is None
    assert minutes_needed(Production("", (), ()), NO_SHOW, "pack/k01", after(0)) is None


def test_where_cells_end_counts_planned_sleep() -> None:
    runways = Runways(PRODUCTION, running("harbour", 10), after(20))
    # Keeper with 22 minutes: 20 until 40, then 2 at a fifth are 10 minutes asleep.
    assert minute(runways.runs_out_us(1, 22.0)) == 50.0
    # With 30: 20 until 40, 5 for the 25 asleep until 65, 5 left awake.
    assert minute(runways.runs_out_us(1, 30.0)) == 70.0
    assert minute(runways.runs_out_us(1, 7.0)) == 27.0
    assert minute(runways.runs_out_us(17, 30.0)) == 50.0


def test_the_longest_gap_before_the_cells_end_is_the_place_to_swap() -> None:
    runways = Runways(PRODUCTION, running("harbour", 10), after(20))
    gap = runways.swap_gap(1, after(80).monotonic_us)
    assert gap is not None
    assert (minute(gap.begins_us), minute(gap.ends_us), gap.after_cue, gap.before_cue) == (40, 65, "harbour", "storm")
    off_already = runways.swap_gap(17, after(60).monotonic_us)
    assert off_already is not None
    assert (minute(off_already.begins_us), off_already.after_cue, off_already.before_cue) == (20, None, "dawn")
    # Before the harbour ends Keeper leaves the stage not once.
    assert runways.swap_gap(1, after(39).monotonic_us) is None
    # Pilot has no cue to come back for.
    assert runways.swap_gap(3, after(80).monotonic_us) is None


def test_of_two_gaps_only_what_lies_before_the_end_counts() -> None:
    order = replace(ORDER, cues=tuple(replace(cue, on_air=(1,)) if cue.cue_id == "quay" else cue for cue in CUES))
    order = replace(order, cues=tuple(replace(c, on_air=(3,)) if c.cue_id == "harbour" else c for c in order.cues))
    runways = Runways(replace(PRODUCTION, order=order), running("quay", 0), after(0))
    gap = runways.swap_gap(1, after(30).monotonic_us)
    assert gap is not None
    assert (gap.after_cue, gap.before_cue) == ("quay", "storm")


def test_who_enters_a_cue_was_not_in_the_one_before() -> None:
    assert entering(CUES[3], CUES[4]) == (17,)
    assert entering(None, CUES[0]) == (17, 18)
    assert entering(CUES[0], CUES[2]) == ()


@given(now=st.integers(10, 39), number=st.sampled_from([1, 3, 17]), left=st.integers(1, 200), swap=st.booleans())
def test_minute_by_minute_reckoning_agrees(now: int, number: int, left: int, swap: bool) -> None:
    """Walks the evening in steps of a tenth of a minute, knowing the hand-written plan of ``evening`` alone."""
    production = WITH_SWAP if swap else PRODUCTION
    runways = Runways(production, running("harbour", 10), after(now))
    last = {1: 95, 3: 40, 17: 95}[number] if not (swap and number == 1) else 40
    needed, spent, out, tenth = 0.0, 0, None, now * 10
    asleep = number in {1, 3}
    while tenth < 4000:
        spent += 2 if asleep and 400 <= tenth < 650 else 10
        tenth += 1
        if tenth == last * 10:
            needed = spent / 100
        if out is None and spent >= left * 100:
            out = tenth / 10
    assert runways.needed_min[number] == pytest.approx(needed + 45)
    assert out is not None
    assert minute(runways.runs_out_us(number, left)) == pytest.approx(out, abs=0.1)
