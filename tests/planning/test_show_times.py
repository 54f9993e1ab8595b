"""Expected times, worked out by hand."""

from __future__ import annotations

import pytest

from fleet.model.running_order import NO_ORDER
from fleet.model.show import NO_SHOW, ShowPhase, ShowPlace
from fleet.planning.show_times import CueTime, cue_times, late_s
from tests.planning.evening import BEGAN, MINUTE_US, ORDER, after, running


def minutes(times: tuple[CueTime, ...]) -> list[tuple[str, float, float]]:
    began_us = BEGAN.monotonic_us
    return [
        (time.cue.cue_id, (time.starts_us - began_us) / MINUTE_US, (time.ends_us - began_us) / MINUTE_US)
        for time in times
    ]


def test_a_show_on_time_follows_the_plan() -> None:
    assert minutes(cue_times(ORDER, running("harbour", 10), after(20))) == [
        ("harbour", 10, 40),
        ("interval", 40, 60),
        ("storm", 65, 85),
        ("dawn", 85, 95),
    ]
    assert late_s(ORDER, running("harbour", 10), after(20)) == 0


def test_a_late_cue_moves_what_follows_until_a_planned_pause_takes_it_up() -> None:
    late_three = running("harbour", 13)
    assert minutes(cue_times(ORDER, late_three, after(20))) == [
        ("harbour", 13, 43),
        ("interval", 43, 63),
        ("storm", 65, 85),
        ("dawn", 85, 95),
    ]
    assert late_s(ORDER, late_three, after(20)) == 180
    assert minutes(cue_times(ORDER, running("harbour", 18), after(20)))[2:] == [("storm", 68, 88), ("dawn", 88, 98)]


def test_an_early_cue_draws_what_follows_forward_and_a_planned_pause_keeps_its_length() -> None:
    early = running("harbour", 8)
    assert minutes(cue_times(ORDER, early, after(20)))[1:3] == [("interval", 38, 58), ("storm", 63, 83)]
    assert late_s(ORDER, early, after(20)) == -120


def test_a_cue_that_overruns_ends_now() -> None:
    overrun = running("harbour", 10)
    assert minutes(cue_times(ORDER, overrun, after(47)))[:2] == [("harbour", 10, 47), ("interval", 47, 67)]
    assert late_s(ORDER, overrun, after(47)) == 7 * 60


def test_before_the_show_it_is_taken_to_begin_now_and_nothing_is_late() -> None:
    assert minutes(cue_times(ORDER, NO_SHOW, after(0)))[2:4] == [("interval", 40, 60), ("storm", 65, 85)]
    assert late_s(ORDER, NO_SHOW, after(0)) is None


@pytest.mark.parametrize("show", [NO_SHOW, ShowPlace(phase=ShowPhase.OVER)])
def test_without_a_running_order_or_after_it_nothing_comes(show: ShowPlace) -> None:
    assert cue_times(NO_ORDER, show, after(0)) == ()
    assert cue_times(ORDER, ShowPlace(phase=ShowPhase.OVER), after(0)) == ()
    assert late_s(ORDER, ShowPlace(phase=ShowPhase.OVER), after(0)) is None
