"""Time and chance are passed in: ruff refuses the calls that would read them, everywhere but in the clock."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.house.tree import ROOT

RUFF = str(Path(sys.executable).parent / "ruff")
CALLS = {
    "import time\ntime.time()": "time.time",
    "import time\ntime.monotonic()": "time.monotonic",
    "from time import monotonic\nmonotonic()": "time.monotonic",
    "import time\ntime.perf_counter()": "time.perf_counter",
    "import time\ntime.sleep(1)": "time.sleep",
    "import datetime\ndatetime.datetime.now(datetime.UTC)": "datetime.datetime.now",
    "from datetime import datetime\ndatetime.utcnow()": "datetime.datetime.utcnow",
    "import asyncio\nasyncio.sleep(1)": "asyncio.sleep",
    "import random\nrandom.random()": "random",
    "from random import choice\nchoice([1])": "random",
}


def findings(code: str, where: str) -> str:
    """What ruff says about banned calls in code that would stand in a file."""
    command = [RUFF, "check", "--select", "TID251", "--output-format", "concise", "--stdin-filename", where, "-"]
    return subprocess.run(command, cwd=ROOT, input=code, capture_output=True, text=True, check=False).stdout


@pytest.mark.parametrize("code", CALLS)
@pytest.mark.parametrize(
    "where", ["fleet/pipeline.py", "simulator/world.py", "api/app.py", "tests/fleet/test_pipeline.py"]
)
def test_a_banned_call_is_refused(code: str, where: str) -> None:
    assert f"`{CALLS[code]}` is banned" in findings(code, where)


def test_the_clock_may_read_time() -> None:
    assert "banned" not in findings("import time\ntime.monotonic()", "fleet/clock.py")


def test_only_the_clock_and_what_measures_are_excepted() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["ruff"]["lint"]
    excepted = {path for path, codes in settings["per-file-ignores"].items() if "TID251" in codes}
    assert excepted == {"fleet/clock.py", "dev", "tests/lanes.py", "tests/bench/**"}
