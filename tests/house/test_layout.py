"""Names, sizes and docstrings, as the habits of the house have them."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.house.tree import PACKAGES, ROOT, project_files, shown

REFUSED_NAMES = {
    "utils",
    "util",
    "helpers",
    "helper",
    "common",
    "manager",
    "service",
    "handler",
    "base",
    "types",
    "misc",
}
LONGEST_FILE = 400
# A ratchet: these numbers may only go down. Lower one when the code has become better than it says.
LONGEST_FUNCTION = 60
MOST_POSITIONAL_ARGUMENTS = 5


def code_files(*endings: str) -> list[Path]:
    return [path for path in project_files() if path.suffix in endings or (path == ROOT / "dev" and ".py" in endings)]


def is_generated(path: Path) -> bool:
    """A generated file says so in its first lines, or is the lock of a tool."""
    return "generated" in "\n".join(path.read_text(encoding="utf-8").splitlines()[:5]).lower()


def functions(path: Path) -> list[ast.FunctionDef | ast.AsyncFunctionDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def length(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    assert function.end_lineno is not None
    return function.end_lineno - function.lineno + 1


def test_no_file_is_named_like_a_drawer() -> None:
    paths = code_files(".py", ".ts", ".css")
    wrong = [
        shown(path) for path in paths if REFUSED_NAMES & {path.stem.split(".")[0], *path.relative_to(ROOT).parts[:-1]}
    ]
    assert not wrong, f"Name these for what they hold: {wrong}"


def test_no_file_is_too_long() -> None:
    counts = {
        shown(path): len(path.read_text(encoding="utf-8").splitlines()) for path in code_files(".py", ".ts", ".css")
    }
    wrong = {name: lines for name, lines in counts.items() if lines > LONGEST_FILE and not is_generated(ROOT / name)}
    assert not wrong, f"Over {LONGEST_FILE} lines: {wrong}"


def test_no_function_is_longer_than_the_ratchet() -> None:
    found = [
        (length(function), f"{shown(path)}:{function.name}")
        for path in code_files(".py")
        for function in functions(path)
    ]
    wrong = sorted(entry for entry in found if entry[0] > LONGEST_FUNCTION)
    assert not wrong, f"Over {LONGEST_FUNCTION} lines: {wrong}"


def test_no_function_takes_too_many_positional_arguments() -> None:
    found = [
        (len(function.args.posonlyargs + function.args.args), f"{shown(path)}:{function.name}")
        for path in code_files(".py")
        for function in functions(path)
    ]
    bound_self = 1
    wrong = sorted(entry for entry in found if entry[0] > MOST_POSITIONAL_ARGUMENTS + bound_self)
    assert not wrong, f"Over {MOST_POSITIONAL_ARGUMENTS} positional arguments: {wrong}"


@pytest.mark.parametrize("name", PACKAGES)
def test_every_package_says_what_it_is(name: str) -> None:
    folders = {path.parent for path in code_files(".py") if path.relative_to(ROOT).parts[0] == name}
    silent = [shown(folder) for folder in folders if not docstring(folder / "__init__.py")]
    assert not silent, f"These packages need an __init__.py with a docstring: {silent}"


@pytest.mark.parametrize("name", PACKAGES)
def test_every_module_says_what_it_is(name: str) -> None:
    silent = [shown(path) for path in code_files(".py") if path.is_relative_to(ROOT / name) and not docstring(path)]
    assert not silent, f"These modules need a docstring: {silent}"


def docstring(path: Path) -> str | None:
    return ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) if path.is_file() else None
