"""Every failure can be had again: the same seed gives the same journal, to the byte, in any process."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.promises.promise import ROOT, TIER, Promise, Seen, Tier, keep

PROMISE = Promise(
    "failures_replay",
    "every failure replays",
    "the commands' promise with all its faults, under three hash seeds",
    "seeds",
    (1, 100, 400),
)
SEEDS_A_PROCESS = 2 if TIER is Tier.TEST else 10
HASH_SEEDS = ("0", "1", "4711")


def test_the_same_seed_gives_the_same_journal_whatever_the_hash_seed() -> None:
    def trial(seed: int) -> Seen:
        count = SEEDS_A_PROCESS
        seeds = [str(number) for number in range(seed * count, (seed + 1) * count)]
        outcomes = {_run(seeds, hash_seed) for hash_seed in HASH_SEEDS}
        assert len(outcomes) == 1, "\n".join(outcomes)
        (outcome,) = outcomes
        hashes = {line.split()[1] for line in outcome.splitlines()}
        assert len(hashes) == count, "different seeds must give different evenings"
        return {"seeds": count, "journals compared": count * len(HASH_SEEDS)}

    keep(PROMISE, trial)


def _run(seeds: list[str], hash_seed: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "tests.promises.replayed", *seeds],
        cwd=ROOT,
        env=os.environ | {"PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout
