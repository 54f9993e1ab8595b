"""What `./dev test` runs side by side, and what a soak tries: two steps at once, the longest first.

Every folder of tests that takes long is a step of its own, and all others are one more. A process gathers only its own
files; workers that share one list would each gather all of it. `./dev` reads this file, which needs Python's library
alone.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
import time
from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

TESTS = Path(__file__).resolve().parent
AT_ONCE = 2
SOAK = (
    "promises",
    "browser/test_names.py",
    "statistics",
    "situations",
    "compose/test_offline.py",
    "planning",
    "scenarios/test_plan_meets_world.py",
    "published",
)
MEASURED_ONLY = "bench"
"""The folder that `./dev bench` runs: it measures, it doesn't judge."""
OTHERS = "all others"
TAKES_S = {
    "browser": 200,
    "scenarios": 170,
    OTHERS: 120,
    "api": 115,
    "promises": 95,
    "situations": 90,
    "simulator": 70,
    "Types": 70,
    "compose": 60,
    "rules": 55,
    "planning": 40,
    "statistics": 40,
    "Screen: tests": 30,
    "house": 30,
    "Screen: style and types": 10,
}
"""Roughly what each step takes, in CPU seconds (the browser's: in seconds); only their order hangs on it."""
ASKS_AT_RANDOM = frozenset({"api", "promises"})
"""Folders whose tests need schemathesis, which takes two seconds to load."""


@dataclass(frozen=True, slots=True)
class Step:
    """A command with a name for people, and roughly how many seconds it takes."""

    name: str
    command: Sequence[str | Path]
    takes_s: float


def steps_of_tests(pytest: Sequence[str | Path]) -> list[Step]:
    """A step for each folder that takes long, and one for all other tests: to begin costs two seconds each time."""
    own = [folder for folder in folders() if folder in TAKES_S]
    paths = {folder: [TESTS / folder] for folder in own}
    paths[OTHERS] = [*(TESTS / folder for folder in folders() if folder not in own), *sorted(TESTS.glob("test_*.py"))]
    return [
        Step(f"Tests: {name}", [*pytest, *_without(name), "--quiet", *chosen], TAKES_S[name])
        for name, chosen in paths.items()
    ]


def _without(name: str) -> tuple[str, ...]:
    """What a step doesn't need, and would take long to load."""
    return ("-p", "no:xdist") if name in ASKS_AT_RANDOM else ("-p", "no:xdist", "-p", "no:schemathesis")


def folders() -> list[str]:
    """The folders of tests."""
    return sorted({path.relative_to(TESTS).parts[0] for path in TESTS.glob("*/**/test_*.py")} - {MEASURED_ONLY})


def run_beside(steps: Iterable[Step], environment: Mapping[str, str], at_once: int = AT_ONCE) -> int:
    """Run steps side by side; once one fails, no other is begun. Returns how many failed."""
    waiting = deque(sorted(steps, key=lambda step: -step.takes_s))
    stop = threading.Event()

    def lane(_: int) -> int:
        failed = 0
        while waiting and not stop.is_set():
            try:
                step = waiting.popleft()
            except IndexError:  # The other lane took the last one.
                break
            if _run(step, environment) != 0:
                failed += 1
                stop.set()
        return failed

    with ThreadPoolExecutor(at_once) as pool:
        failed = sum(pool.map(lane, range(at_once)))
    if failed:
        _say(f"-- {failed} FAILED; not begun: {', '.join(step.name for step in waiting) or 'none'}")
    return failed


def _run(step: Step, environment: Mapping[str, str]) -> int:
    """Run one step; what it printed is shown whole when it fails, else its last line."""
    started = time.monotonic()
    with tempfile.TemporaryFile() as printed:
        process = subprocess.Popen(
            step.command, cwd=TESTS.parent, env=environment, stdin=subprocess.DEVNULL, stdout=printed, stderr=printed
        )
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        seconds, cpu_s = time.monotonic() - started, usage.ru_utime + usage.ru_stime
        printed.seek(0)
        words = printed.read().decode(errors="replace").strip()
    last = words.splitlines()[-1] if words else ""
    took = f"{seconds:.1f} s, {cpu_s:.1f} s of CPU"
    if process.returncode == 0:
        _say(f"-- {step.name}: {took}. {last}")
    else:
        _say(f"{words}\n-- {step.name} FAILED after {took}, exit code {process.returncode}")
    return process.returncode


def _say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)
