from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.simulator.recital import recite

ROOT = Path(__file__).parents[2]
SEED = 11


def _recite_elsewhere(hash_seed: str) -> str:
    run = subprocess.run(
        [sys.executable, "-m", "tests.simulator.recital", str(SEED)],
        cwd=ROOT,
        env=os.environ | {"PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return run.stdout


def test_the_same_acts_and_seed_give_the_same_bytes_in_any_process() -> None:
    print(f"repeat with: python -m tests.simulator.recital {SEED}")
    here = recite(SEED)
    assert [_recite_elsewhere("0"), _recite_elsewhere("4711")] == [here, here]


def test_another_seed_is_another_world() -> None:
    assert recite(SEED, 1) != recite(SEED + 1, 1)
