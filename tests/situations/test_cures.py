"""What ends each situation, and what does not: every right act and every wrong one, held to the classifier."""

from __future__ import annotations

import copy
from functools import cache

import pytest

from simulator.situation import Way, load_situation, situation_names
from tests.promises.promise import TIER, Tier
from tests.situations.recording import Recorder
from tests.situations.trial import begun, found_after

SEEDS = {Tier.TEST: (2_001,), Tier.SOAK: tuple(range(2_001, 2_011)), Tier.LONG: tuple(range(2_001, 2_051))}[TIER]
RIGHT = [(name, way) for name in situation_names() for way in load_situation(name).cure]
WRONG = [(name, way) for name in situation_names() for way in load_situation(name).wrong]


@cache
def _under_way(name: str, seed: int) -> Recorder:
    print(f"{name}: seed {seed}")
    return begun(load_situation(name), seed)


def _found_after(name: str, way: Way, seed: int) -> set[int]:
    found, problems = found_after(copy.deepcopy(_under_way(name, seed)), way)
    assert problems == []
    return {finding.number for finding in found}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("name", "way"), RIGHT, ids=[f"{name}: {way.words}" for name, way in RIGHT])
def test_the_right_act_ends_it(name: str, way: Way, seed: int) -> None:
    assert _found_after(name, way, seed) == set()


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("name", "way"), WRONG, ids=[f"{name}: {way.words}" for name, way in WRONG])
def test_the_wrong_act_does_not(name: str, way: Way, seed: int) -> None:
    assert _found_after(name, way, seed) >= set(load_situation(name).numbers)
