"""The situations told apart on seeds that nobody had looked at: the confusion matrix, and what it has to reach.

The classifier was made with seeds below 100; these begin at 1,001. The thresholds are older than the world. What is
found on another channel, path or rack than where it was thrown counts as wrong.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from simulator.situation import situation_names
from tests.promises.promise import TIER, Tier
from tests.situations.classifier import CANDIDATES
from tests.situations.thresholds import EACH_CLASS, OVERALL
from tests.situations.trial import Trial, trial_of

FIRST_SEED = 1_001
SEEDS = {Tier.TEST: 1, Tier.SOAK: 40, Tier.LONG: 200}[TIER]
# Some take minutes of an evening.
SLOW_SEEDS = {Tier.TEST: 1, Tier.SOAK: 20, Tier.LONG: 100}[TIER]
SLOW = frozenset({"11-sweat"})


@cache
def trials(name: str) -> tuple[Trial, ...]:
    """All trials of a situation."""
    seeds = range(FIRST_SEED, FIRST_SEED + (SLOW_SEEDS if name in SLOW else SEEDS))
    print(f"{name}: seeds {seeds[0]} to {seeds[-1]}")
    return tuple(trial_of(name, seed) for seed in seeds)


def _words(trial: Trial) -> str:
    """The numbers found, a candidate with its question mark; an exclamation mark where a place is wrong."""
    numbers = sorted({finding.number for finding in trial.found})
    told = "+".join(f"{number}{'?' if number in CANDIDATES else ''}" for number in numbers) or "healthy"
    misplaced = {each.number for each in trial.found} == {each.number for each in trial.due} and not trial.is_right
    return f"{told}!" if misplaced else told


@pytest.mark.parametrize("name", situation_names())
def test_each_is_told_from_all_others(name: str) -> None:
    found = trials(name)
    right = sum(each.is_right for each in found)
    print(f"{name}: {right} of {len(found)}; {Counter(_words(each) for each in found)}")
    assert right >= EACH_CLASS * len(found)


@pytest.mark.parametrize("name", [name for name in situation_names() if name.startswith("decoy")])
def test_a_healthy_evening_is_never_called_a_fault(name: str) -> None:
    assert {trial.found for trial in trials(name)} == {frozenset()}


def test_confusion_matrix() -> None:
    rows = {name: Counter(_words(each) for each in trials(name)) for name in situation_names()}
    columns = sorted({word for row in rows.values() for word in row}, key=lambda word: (len(word), word))
    width = max(len(name) for name in rows)
    print(f"{'what it was':{width}}  " + " ".join(f"{word:>7}" for word in columns))
    for name, row in rows.items():
        print(f"{name:{width}}  " + " ".join(f"{row[word] or '.':>7}" for word in columns))
    right = sum(each.is_right for name in rows for each in trials(name))
    total = sum(len(trials(name)) for name in rows)
    print(f"{right} of {total} told right")
    assert right >= OVERALL * total
