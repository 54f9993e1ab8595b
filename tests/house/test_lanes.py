"""Nothing is left out of `./dev test`, and a step that fails is seen."""

from __future__ import annotations

import os
import re
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests import lanes
from tests.house.tree import ROOT, project_files, shown

ASKS_FOR_THE_TIER = r"^from tests\.promises\.promise import .*\bTIER\b"


def files_in(step: lanes.Step) -> set[Path]:
    paths = [Path(each) for each in step.command if str(each).startswith(str(lanes.TESTS))]
    return {file for path in paths for file in ([path] if path.is_file() else path.rglob("test_*.py"))}


def test_every_file_of_tests_is_run_once() -> None:
    run = Counter(file for step in lanes.steps_of_tests(["pytest"]) for file in files_in(step))
    measured = lanes.TESTS / lanes.MEASURED_ONLY
    there = {path for path in lanes.TESTS.rglob("test_*.py") if not path.is_relative_to(measured)}
    assert len(there) > 200
    assert run == Counter(dict.fromkeys(there, 1))


def test_what_asks_at_random_has_what_it_needs() -> None:
    files = (
        path for path in lanes.TESTS.rglob("*.py") if re.search(r"^import schemathesis", path.read_text(), re.MULTILINE)
    )
    asking = {file.relative_to(lanes.TESTS).parts[0] for file in files}
    assert asking == lanes.ASKS_AT_RANDOM <= lanes.TAKES_S.keys()


def test_what_a_soak_tries_is_there() -> None:
    assert [each for each in lanes.SOAK if not (lanes.TESTS / each).exists()] == []


def test_every_file_that_a_soak_would_try_longer_is_in_it() -> None:
    """Whoever asks for the tier takes more in a soak, so a soak must run it."""
    chosen = [lanes.TESTS / each for each in lanes.SOAK]
    tests = (path for path in project_files() if path.is_relative_to(lanes.TESTS) and path.name.startswith("test_"))
    asking = [path for path in tests if re.search(ASKS_FOR_THE_TIER, path.read_text(), re.MULTILINE)]
    missing = [shown(path) for path in asking if not any(path.is_relative_to(each) for each in chosen)]
    assert len(asking) > 10
    assert missing == []


def test_what_is_timed_is_there() -> None:
    checks = {"Screen: style and types", "Screen: tests", "Types"}
    assert set(lanes.TAKES_S) - checks <= {*lanes.folders(), lanes.OTHERS}
    script = (ROOT / "dev").read_text()
    assert all(f'"{name}"' in script for name in checks & set(lanes.TAKES_S))


def python(name: str, code: str, takes_s: float) -> lanes.Step:
    return lanes.Step(name, [sys.executable, "-c", code], takes_s)


def test_steps_that_pass_say_their_last_line(capfd: pytest.CaptureFixture[str]) -> None:
    steps = [python("short", "print('first'); print('last')", 1), python("long", "print('whole')", 2)]
    assert lanes.run_beside(steps, os.environ, at_once=1) == 0
    told = capfd.readouterr().err
    assert "first" not in told
    assert told.index("-- long") < told.index("-- short"), "the longest goes first"
    assert "of CPU. last" in told


def test_one_that_fails_is_shown_whole_and_nothing_is_begun_after_it(capfd: pytest.CaptureFixture[str]) -> None:
    bad = "import sys; print('why'); print('so', file=sys.stderr); sys.exit(3)"
    steps = [python("bad", bad, 3), python("never", "print('must not run')", 2), python("nor this", "", 1)]
    assert lanes.run_beside(steps, os.environ, at_once=1) == 1
    told = capfd.readouterr().err
    assert "why" in told
    assert "so" in told
    assert "-- bad FAILED after" in told
    assert "exit code 3" in told
    assert "must not run" not in told
    assert "not begun: never, nor this" in told


def test_two_run_at_once(tmp_path: Path) -> None:
    """Each waits at a named pipe for the other, so that one alone would never end."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    steps = [
        python("writer", f"open({str(pipe)!r}, 'w').write('here')", 2),
        python("reader", f"assert open({str(pipe)!r}).read() == 'here'", 1),
    ]
    assert lanes.run_beside(steps, os.environ) == 0
