"""The list of published values is whole: each names tests that are there and hold its figures, or says why none do."""

from __future__ import annotations

import ast
import functools
import math
import os
import re
import subprocess
import sys

import pytest

from tests.house.tree import ROOT
from tests.published.row import Row
from tests.published.rows import SUBJECTS
from tests.published.write_up import HERE, main, places_of

ROWS = [row for rows in SUBJECTS.values() for row in rows]
NAMED = sorted({place for row in ROWS for place in places_of(row)})
FILES = sorted({place.partition("::")[0] for place in NAMED})
FIGURE = re.compile(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?:e-?\d+)?(?![\w.]*\d)")
REASONS = re.compile(
    r"^(?:no use|not built|from memory|for sanity only|one second-hand source|second-hand|no figure|nobody read)"
)


@functools.cache
def code_figures(file: str) -> frozenset[float]:
    """Every number in a file's code, without its sign; what docstrings and comments say doesn't count."""
    nodes = ast.walk(ast.parse((ROOT / file).read_text(encoding="utf-8")))
    values = [node.value for node in nodes if isinstance(node, ast.Constant)]
    return frozenset(float(value) for value in values if isinstance(value, int | float))


def stands_in(figure: float, files: set[str]) -> bool:
    """Whether a number, or a power of a thousand of it, is in the code of one of the files."""
    near = [abs(figure) * 1_000.0**power for power in range(-4, 5)]
    return any(math.isclose(one, found, rel_tol=1e-9) for file in files for found in code_figures(file) for one in near)


@pytest.mark.parametrize("row", ROWS, ids=[f"{row.what}: {row.value}" for row in ROWS])
def test_each_figure_stands_in_the_tests_that_a_row_names(row: Row) -> None:
    assert bool(row.tests) != bool(row.reason), "a row has either tests or a reason"
    if row.reason:
        assert REASONS.match(row.reason)
        return
    files = {place.partition("::")[0] for place in places_of(row)}
    figures = [float(figure) for text in (row.value, row.tolerance) for figure in FIGURE.findall(text)]
    assert figures or row.value.startswith(("no ", "three sets"))
    missing = [figure for figure in figures if figure and not stands_in(figure, files)]
    assert not missing, f"not in {sorted(files)}: {missing}"


def test_a_wrong_figure_is_found_out() -> None:
    """What is looked for in a file is its code's own numbers, in whatever unit of a thousand; nothing else will do."""
    assert FIGURE.findall("-9.773, 8.20e-5 dB and +18 dBu, P.525") == ["-9.773", "8.20e-5", "+18"]
    files = {"tests/published/test_indoor.py"}
    assert stands_in(64.08, files)
    assert stands_in(0.06408, files)
    assert not stands_in(64.09, files)
    assert not stands_in(6.408, files)
    assert not stands_in(1238.0, files), "a docstring's number is no assertion"


def test_what_is_named_is_collected() -> None:
    """By pytest itself: a name that no test bears, or that isn't gathered, is no test."""
    options = ["--collect-only", "-q", "-p", "pytest_asyncio.plugin", "-p", "no:cacheprovider"]
    lean = os.environ | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    command = [sys.executable, "-m", "pytest", *options, *FILES]
    outcome = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, env=lean)
    collected = {line.partition("[")[0].strip() for line in outcome.stdout.splitlines() if "::" in line}
    assert collected, outcome.stdout + outcome.stderr
    assert not set(NAMED) - collected


def test_nothing_that_is_named_can_be_skipped() -> None:
    skipping = [
        file for file in FILES if re.search(r"\b(?:skip|skipif|xfail|importorskip)\b", (ROOT / file).read_text())
    ]
    assert not skipping


def test_every_file_of_published_values_is_named_by_some_row() -> None:
    named = {(ROOT / file) for file in FILES}
    assert set(HERE.glob("test_*.py")) - named == set()


def test_every_list_of_rows_is_in_the_document() -> None:
    listed = {HERE / f"{name}.py" for name in ("rows", "row")} | {
        HERE / f"{found}.py" for found in re.findall(r"tests\.published\.(rows_\w+)", (HERE / "rows.py").read_text())
    }
    assert set(HERE.glob("row*.py")) == listed


def test_nothing_from_memory_is_asserted() -> None:
    assert not [row.what for row in ROWS if row.mark == "M" and row.tests]


def test_a_shape_states_no_figure() -> None:
    assert all(row.value == "no figure" and not row.tolerance for row in ROWS if row.mark == "shape")


def test_no_row_stands_twice() -> None:
    keys = [(row.what, row.value) for row in ROWS]
    assert len(keys) == len(set(keys))


def test_the_document_says_what_the_list_says() -> None:
    assert main(["--check"]) == 0, "run: ./dev generate"
