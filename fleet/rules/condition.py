"""Conditions with limits, deadbands and delays, over all rules and all rows at once.

A condition begins when the measure has been beyond its limit for the whole on-delay, and ends when it has been back by
the deadband for the whole off-delay (alarm timing as in OPC UA Part 9, B.1.5). Delays count sampled time. A missing
sample stops the clock of a delay; it never counts for either side, and after five seconds without a sample the delay
starts again in full. So absent data neither raises nor clears; a rule that is to be raised by it is, after those five
seconds. A value that is only a lower bound counts where it decides; where the truth may lie on either side it is a
missing sample.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.rule import Rule, Side, WhenAbsent
from fleet.rules.sight import Sampled

PAUSE_MAXIMUM_US = 5_000_000
"""A gap this long restarts a delay; common practice: shorter gaps in reports are no event."""
_NOT_STARTED = -1

Grid = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Flips:
    """The cells [rule, row] whose condition began and ended in one step.

    ``told`` are those of which something is known, or nothing for so long that waiting is no use.
    """

    began: Grid
    ended: Grid
    told: Grid


class ConditionGrid:
    """The conditions of several rules, as arrays shaped [rule, row]; rules may be of places with fewer rows."""

    def __init__(self, rules: Sequence[Rule]) -> None:
        column = (len(rules), 1)
        names = list(dict.fromkeys(rule.measure for rule in rules))
        self.measures = tuple(names)
        self._measure_of = np.array([names.index(rule.measure) for rule in rules], dtype=np.intp)
        sign = np.array([1.0 if rule.side is Side.ABOVE else -1.0 for rule in rules]).reshape(column)
        limit = sign * np.array([rule.limit for rule in rules]).reshape(column)
        self._sign = sign
        self._limit = limit
        self._back = limit - np.array([rule.deadband for rule in rules]).reshape(column)
        self._on_us = np.array([round(rule.on_delay_s * 1e6) for rule in rules], dtype=np.int64).reshape(column)
        self._off_us = np.array([round(rule.off_delay_s * 1e6) for rule in rules], dtype=np.int64).reshape(column)
        self._raise_absent = np.array([rule.when_absent is WhenAbsent.RAISE for rule in rules]).reshape(column)
        self.holds: Grid = np.zeros((len(rules), 0), dtype=np.bool_)
        self._timer_us: NDArray[np.int64] = np.zeros((len(rules), 0), dtype=np.int64)
        self._began_us: NDArray[np.int64] = np.zeros((len(rules), 0), dtype=np.int64)
        self._sampled_us: NDArray[np.int64] = np.zeros((len(rules), 0), dtype=np.int64)

    def grow(self, rows: int, at_us: int) -> None:
        """Make room for that many rows; new ones begin without a condition, as if sampled now."""
        more = rows - self.holds.shape[1]
        if more > 0:
            self.holds = np.pad(self.holds, ((0, 0), (0, more)))
            self._timer_us = np.pad(self._timer_us, ((0, 0), (0, more)), constant_values=_NOT_STARTED)
            self._began_us = np.pad(self._began_us, ((0, 0), (0, more)))
            self._sampled_us = np.pad(self._sampled_us, ((0, 0), (0, more)), constant_values=at_us)

    def start(self, rules: Sequence[int], rows: slice, at_us: int) -> None:
        """Let rows of those rules begin as if sampled now: their things are new."""
        for rule in rules:
            self._sampled_us[rule, rows] = at_us

    def step(self, at_us: int, samples: Sampled, quiet: Grid) -> Flips:
        """Evaluate every rule on every row. ``samples`` are stacked in the order of ``measures``.

        Where ``quiet`` is set no condition begins and no on-delay runs; one that holds may still end.
        """
        values = self._decided(samples)
        elapsed, fresh, known, stale = self._sampling(at_us, samples, ~np.isnan(values))
        self._timer_us[fresh & (elapsed > PAUSE_MAXIMUM_US)] = _NOT_STARTED
        elapsed = np.minimum(elapsed, samples.window_us[self._measure_of])
        absent = self._raise_absent & stale
        beyond = ((known & (values > self._limit)) | absent) & ~quiet
        back = known & (values <= self._back)
        toward = np.where(self.holds, back, beyond)
        starts = toward & (self._timer_us == _NOT_STARTED)
        self._began_us[starts] = at_us
        stops = ((known | stale) & ~toward) | (quiet & ~self.holds)
        self._timer_us = self._timer_us + np.where(toward & fresh & ~starts, elapsed, 0)
        self._timer_us[starts] = 0
        self._timer_us[stops] = _NOT_STARTED
        delay = np.where(self.holds, self._off_us, self._on_us)
        flips = toward & ((self._timer_us >= delay) | absent)
        began = flips & ~self.holds
        ended = flips & self.holds
        self.holds = self.holds ^ flips
        self._timer_us[flips] = _NOT_STARTED
        return Flips(began, ended, known | stale)

    def _decided(self, samples: Sampled) -> NDArray[np.float64]:
        """The values turned so that more is worse, NaN where a lower bound leaves open what is asked of it.

        Of a row whose condition holds it is asked whether it is back, of any other whether it is beyond its limit.
        """
        values: NDArray[np.float64] = samples.values[self._measure_of] * self._sign
        if not samples.at_least.any():
            return values
        bound = samples.at_least[self._measure_of]
        asked = np.where(self.holds, self._back, self._limit)
        open_still = np.where(self._sign > 0.0, values <= asked, values > asked)
        return np.where(bound & open_still, np.nan, values)

    def _sampling(self, at_us: int, samples: Sampled, known: Grid) -> tuple[NDArray[np.int64], Grid, Grid, Grid]:
        """Per rule and row: time since the sample before, whether new, whether known, whether long absent."""
        sampled = samples.sampled_us[self._measure_of]
        fresh = known & (sampled > self._sampled_us)
        elapsed = sampled - self._sampled_us
        self._sampled_us = np.where(known, sampled, self._sampled_us)
        stale = ~known & (at_us - self._sampled_us > PAUSE_MAXIMUM_US)
        return elapsed, fresh, known, stale

    def began_us(self, rule: int, row: int) -> int:
        """The monotonic time at which the condition that now holds, or last held, was first seen."""
        return int(self._began_us[rule, row])

    def forget(self, rule: int, row: int) -> None:
        """Whatever held, or was about to, is over."""
        self.holds[rule, row] = False
        self._timer_us[rule, row] = _NOT_STARTED

    def set_holding(self, rule: int, row: int) -> None:
        """A condition that held before the console was restarted holds until it is seen to end."""
        self.holds[rule, row] = True
