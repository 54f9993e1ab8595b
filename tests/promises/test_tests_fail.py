"""The tests can fail: each planted bug is found by the trials of the promise that it breaks.

The unbroken product passes the same seeds, as the promises' own tests show.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from tests.promises.planted import PLANTED, Bug
from tests.promises.promise import MOST, TIER, Promise, Seen, Tier, keep

PROMISE = Promise(
    "tests_fail",
    "the tests can fail",
    "bugs planted one at a time",
    "bugs found",
    (4, len(PLANTED), len(PLANTED)),
)
SEEDS = 10 if TIER is Tier.TEST else 200


def test_every_planted_bug_is_found() -> None:
    keep(PROMISE, _trial)


def _trial(number: int) -> Seen:
    """The seed is the bug's number."""
    bug = PLANTED[number - 1]
    for seed in range(1, SEEDS + 1):
        if _is_found(bug, seed):
            return {"bugs found": 1, f"{MOST}seeds until one was found": seed}
    raise AssertionError(f"not found within {SEEDS} seeds: {bug.words}")


def _is_found(bug: Bug, seed: int) -> bool:
    """Whether the trial breaks, in whatever way."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        bug.plant(patch)
        try:
            bug.tried(Path(folder), seed)
        except Exception as error:  # noqa: BLE001 - any failure is what is looked for.
            print(f"{bug.words}: seed {seed}: {type(error).__name__}: {str(error)[:120]}")
            return True
    return False
