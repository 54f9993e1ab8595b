"""Conditions, row by row by hand. Timing after OPC UA Part 9, B.1.5."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleet.model.address import Place
from fleet.model.rule import Rule, Side, WhenAbsent
from fleet.rules.condition import ConditionGrid
from fleet.rules.sight import Sampled, stack

NAN = float("nan")
HOT = Rule("hot", Place.PACK, "battery_v", Side.ABOVE, 5.0, 1.0, 0.5, 1.0, 2)


class Line:
    """One rule on one row: values by tenths of a second, NaN for no sample."""

    def __init__(self, rule: Rule = HOT) -> None:
        self.grid = ConditionGrid([rule])
        self.grid.grow(1, 0)
        self.tenth = 0
        self._sampled_us = 0

    def play(self, *values: float, quiet: bool = False, at_least: bool = False) -> list[bool]:
        held = []
        for value in values:
            self.tenth += 1
            at_us = self.tenth * 100_000
            sampled = np.array([at_us if not np.isnan(value) else self._sampled_us])
            self._sampled_us = int(sampled[0])
            sample = Sampled(np.array([value]), sampled, np.array([200_000]), np.array([at_least]))
            self.grid.step(at_us, stack([sample], 1), np.array([[quiet]]))
            held.append(bool(self.grid.holds[0, 0]))
        return held


def test_on_delay_limit_and_deadband() -> None:
    line = Line()
    assert line.play(*[5.0] * 20) == [False] * 20
    assert line.play(*[5.1] * 6) == [False] * 5 + [True]
    assert line.play(*[4.1] * 20) == [True] * 20
    assert line.play(*[4.0] * 11) == [True] * 10 + [False]


def test_a_brief_return_starts_the_delay_again() -> None:
    line = Line()
    assert not any(line.play(*([6.0] * 5 + [0.0]) * 4))
    line.play(*[6.0] * 6)
    assert all(line.play(*([0.0] * 10 + [6.0]) * 4))


def test_a_missing_sample_stops_the_clock() -> None:
    line = Line()
    assert line.play(6.0, 6.0, 6.0, *[NAN] * 20, 6.0, 6.0) == [False] * 24 + [True]


def test_a_gap_counts_from_sample_to_sample_whenever_anybody_looked() -> None:
    """5.1 s lie between the samples, and at the last look within the gap it was no more than 5.0 s."""
    line = Line()
    line.play(*[6.0] * 10, *[4.0] * 8)
    assert line.play(*[NAN] * 50, *[4.0] * 11) == [True] * 60 + [False]


def test_a_long_gap_starts_the_delay_again() -> None:
    line = Line()
    assert line.play(6.0, 6.0, 6.0, 6.0, 6.0, *[NAN] * 51, 6.0, 6.0, 6.0, 6.0, 6.0) == [False] * 61
    assert line.play(6.0) == [True]


def test_absence_neither_raises_nor_clears_unless_it_is_to() -> None:
    held = Line()
    held.play(*[6.0] * 6)
    assert all(held.play(*[NAN] * 1_000))
    assert not any(Line().play(*[NAN] * 1_000))
    raised = Line(replace(HOT, when_absent=WhenAbsent.RAISE))
    assert raised.play(0.0, *[NAN] * 51) == [False] * 51 + [True]


def test_quiet_rows_begin_nothing_and_may_end() -> None:
    line = Line()
    assert not any(line.play(*[6.0] * 50, quiet=True))
    assert line.play(*[6.0] * 6) == [False] * 5 + [True]
    assert line.play(*[0.0] * 11, quiet=True) == [True] * 10 + [False]
    absent = Line(replace(HOT, when_absent=WhenAbsent.RAISE))
    assert not any(absent.play(*[NAN] * 100, quiet=True))


def test_being_quiet_without_a_sample_starts_the_delay_again_too() -> None:
    line = Line()
    line.play(*[6.0] * 5)
    line.play(NAN, NAN, quiet=True)
    assert line.play(*[6.0] * 6) == [False] * 5 + [True]


def test_a_lower_bound_can_raise_and_never_clear() -> None:
    line = Line()
    assert line.play(*[6.0] * 6, at_least=True)[-1]
    assert all(line.play(*[0.0] * 100, at_least=True))
    assert line.play(*[0.0] * 11)[-1] is False


def test_a_lower_bound_can_clear_a_rule_for_too_little_and_never_raise_it() -> None:
    line = Line(replace(HOT, side=Side.BELOW))
    assert not any(line.play(*[4.0] * 100, at_least=True))
    assert line.play(*[4.0] * 6) == [False] * 5 + [True]
    assert all(line.play(*[5.9] * 100, at_least=True))
    assert line.play(*[6.0] * 11, at_least=True) == [True] * 10 + [False]


def test_a_lower_bound_that_decides_nothing_stops_the_clock() -> None:
    line = Line(replace(HOT, side=Side.BELOW))
    line.play(4.0, 4.0, 4.0)
    line.play(*[4.0] * 20, at_least=True)
    assert line.play(4.0, 4.0) == [False, True]
    other = Line(replace(HOT, side=Side.BELOW))
    other.play(4.0, 4.0, 4.0)
    other.play(*[5.0] * 2, at_least=True)
    assert other.play(*[4.0] * 6) == [False] * 5 + [True]


def test_without_delays_a_condition_turns_at_once() -> None:
    line = Line(replace(HOT, on_delay_s=0.0, off_delay_s=0.0))
    assert line.play(6.0, 4.0, 6.0, 4.5, 4.0) == [True, False, True, True, False]
