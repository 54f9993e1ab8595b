"""The situations told apart on seeds that nobody had looked at: the confusion matrix, and what it has to reach.

The classifier was made with seeds below 100; these begin at 1,001. The thresholds are older than the world.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from simulator.situation import load_situation, situation_names
from tests.promises.promise import TIER, Tier
from tests.situations.classifier import CANDIDATES
from tests.situations.thresholds import EACH_CLASS, OVERALL
from tests.situations.trial import found_in

FIRST_SEED = 1_001
SEEDS = {Tier.TEST: 2, Tier.SOAK: 40, Tier.LONG: 200}[TIER]
# Some take minutes of an evening.
SLOW_SEEDS = {Tier.TEST: 1, Tier.SOAK: 20, Tier.LONG: 100}[TIER]
SLOW = frozenset({"11-sweat"})
Told = tuple[int, ...]


@cache
def trials(name: str) -> tuple[Told, ...]:
    """What was found in each trial of a situation, as numbers."""
    seeds = range(FIRST_SEED, FIRST_SEED + (SLOW_SEEDS if name in SLOW else SEEDS))
    print(f"{name}: seeds {seeds[0]} to {seeds[-1]}")
    return tuple(tuple(sorted({finding.number for finding in found_in(name, seed)})) for seed in seeds)


def _truth(name: str) -> Told:
    return tuple(sorted(load_situation(name).numbers))


def _words(numbers: Told) -> str:
    return "+".join(f"{number}{'?' if number in CANDIDATES else ''}" for number in numbers) or "healthy"


@pytest.mark.parametrize("name", situation_names())
def test_each_is_told_from_all_others(name: str) -> None:
    found = trials(name)
    right = sum(1 for each in found if each == _truth(name))
    print(f"{name}: {right} of {len(found)}; {Counter(_words(each) for each in found)}")
    assert right >= EACH_CLASS * len(found)


@pytest.mark.parametrize("name", [name for name in situation_names() if name.startswith("decoy")])
def test_a_healthy_evening_is_never_called_a_fault(name: str) -> None:
    assert set(trials(name)) == {()}


def test_confusion_matrix() -> None:
    rows = {name: Counter(_words(each) for each in trials(name)) for name in situation_names()}
    columns = sorted({word for row in rows.values() for word in row}, key=lambda word: (len(word), word))
    width = max(len(name) for name in rows)
    print(f"{'what it was':{width}}  " + " ".join(f"{word:>7}" for word in columns))
    for name, row in rows.items():
        print(f"{name:{width}}  " + " ".join(f"{row[word] or '.':>7}" for word in columns))
    right = sum(1 for name in rows for each in trials(name) if each == _truth(name))
    total = sum(len(trials(name)) for name in rows)
    print(f"{right} of {total} told right")
    assert right >= OVERALL * total
