"""Fifteen rules over a thousand rows, beside the same work in plain loops. Prints a table, asserts no time."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from fleet.model.address import Place
from fleet.model.rule import Rule, Side
from fleet.rules.condition import ConditionGrid
from fleet.rules.sight import Sampled, stack

RULES = 15
ROWS = 1_000
TICKS = 100
ROUNDS = 5
MEASURES = ("link_quality", "battery_minutes", "battery_v", "battery_fraction", "return_link")


def rules() -> list[Rule]:
    return [
        Rule(
            rule_id=f"r{number}",
            place=Place.PACK,
            measure=MEASURES[number % len(MEASURES)],
            side=Side.BELOW if number % 2 else Side.ABOVE,
            limit=-1.5 if number % 2 else 1.5,
            deadband=0.5,
            on_delay_s=1.0,
            off_delay_s=3.0,
            priority=2,
        )
        for number in range(RULES)
    ]


@dataclass
class PlainCell:
    """One rule on one row, in plain Python with the same timing."""

    holds: bool = False
    timer_us: int = -1
    sampled_us: int = 0


@dataclass
class PlainRules:
    rules: list[Rule]
    cells: list[list[PlainCell]] = field(default_factory=list)

    def step(self, samples: dict[str, list[float]], sampled_us: int, quiet: list[bool]) -> int:
        flips = 0
        for rule, cells in zip(self.rules, self.cells, strict=True):
            values = samples[rule.measure]
            below, limit, deadband = rule.side is Side.BELOW, rule.limit, rule.deadband
            on_us, off_us = round(rule.on_delay_s * 1e6), round(rule.off_delay_s * 1e6)
            for row, cell in enumerate(cells):
                value = values[row]
                if math.isnan(value):
                    continue
                elapsed = min(sampled_us - cell.sampled_us, 200_000)
                cell.sampled_us = sampled_us
                if cell.holds:
                    toward = value >= limit + deadband if below else value <= limit - deadband
                else:
                    toward = (value < limit if below else value > limit) and not quiet[row]
                if not toward:
                    cell.timer_us = -1
                    continue
                cell.timer_us = 0 if cell.timer_us < 0 else cell.timer_us + elapsed
                if cell.timer_us >= (off_us if cell.holds else on_us):
                    cell.holds, cell.timer_us = not cell.holds, -1
                    flips += 1
        return flips


def cpu_us_per_tick(work: Callable[[], int]) -> tuple[float, int]:
    began = time.process_time()
    flips = work()
    return (time.process_time() - began) / TICKS * 1e6, flips


def walks(generator: np.random.Generator) -> np.ndarray[tuple[int, int, int], np.dtype[np.float64]]:
    """Slow random walks about zero, [tick, measure, row], a hundredth of them absent."""
    steps = generator.standard_normal((TICKS, len(MEASURES), ROWS)) * 0.3
    values = np.cumsum(steps, axis=0)
    values[generator.random(values.shape) < 0.01] = np.nan
    return values


def test_rules_beside_plain_loops() -> None:
    seed = 7
    values = walks(np.random.default_rng(seed))
    lists = [{name: values[tick, m].tolist() for m, name in enumerate(MEASURES)} for tick in range(TICKS)]
    window, exact = np.full(ROWS, 200_000), np.zeros(ROWS, dtype=np.bool_)
    quiet = np.zeros((RULES, ROWS), dtype=np.bool_)

    def columns() -> int:
        grid = ConditionGrid(rules())
        grid.grow(ROWS, 0)
        flips = 0
        for tick in range(TICKS):
            at_us = (tick + 1) * 100_000
            times = np.full(ROWS, at_us)
            samples = [Sampled(values[tick, MEASURES.index(name)], times, window, exact) for name in grid.measures]
            step = grid.step(at_us, stack(samples, ROWS), quiet)
            flips += int(np.count_nonzero(step.began)) + int(np.count_nonzero(step.ended))
        return flips

    def loops() -> int:
        plain = PlainRules(rules(), [[PlainCell() for _ in range(ROWS)] for _ in range(RULES)])
        return sum(plain.step(lists[tick], (tick + 1) * 100_000, [False] * ROWS) for tick in range(TICKS))

    results = [(cpu_us_per_tick(columns), cpu_us_per_tick(loops)) for _ in range(ROUNDS)]
    column_us = float(np.median([ours for (ours, _), _ in results]))
    loop_us = float(np.median([theirs for _, (theirs, _) in results]))
    assert len({flips for pair in results for _, flips in pair}) == 1
    print(f"\n{RULES} rules x {ROWS} rows, CPU per tick, medians of {ROUNDS} rounds, seed {seed}")
    print(f"  columns      {column_us:9.0f} us   {column_us / 1_000:5.2f} % of a 100 ms tick")
    print(f"  plain loops  {loop_us:9.0f} us")
    print(f"  ratio        {loop_us / column_us:9.1f}   ({results[0][0][1]} changes of condition in both)")
