"""The screen is built again when, and only when, what it is built from has changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

import hatch_build
from tests.house.tree import ROOT

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A small work tree whose screen was just built."""
    (tmp_path / "ui" / "src").mkdir(parents=True)
    (tmp_path / "ui" / "dist").mkdir()
    (tmp_path / "ui" / "src" / "main.ts").write_text("export {};")
    (tmp_path / "ui" / "dist" / "build.stamp").write_text(hatch_build.source_hash(tmp_path / "ui"))
    return tmp_path


def test_nothing_is_due_after_a_build(tree: Path) -> None:
    assert not hatch_build.build_is_due(tree)
    assert not hatch_build.build_screen(tree)


@pytest.mark.parametrize("name", ["src/main.ts", "src/new.ts", "index.html", ".npmrc", "public/docs/page.js"])
def test_a_changed_or_new_source_makes_a_build_due(tree: Path, name: str) -> None:
    path = tree / "ui" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("changed")
    assert hatch_build.build_is_due(tree)


@pytest.mark.parametrize("name", ["src/main.test.ts", "node_modules/lit/index.js", "dist/index.html"])
def test_what_is_no_source_makes_none_due(tree: Path, name: str) -> None:
    path = tree / "ui" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("changed")
    assert not hatch_build.build_is_due(tree)


def test_a_missing_build_is_due(tree: Path) -> None:
    (tree / "ui" / "dist" / "build.stamp").unlink()
    assert hatch_build.build_is_due(tree)


def test_a_renamed_source_makes_a_build_due(tree: Path) -> None:
    (tree / "ui" / "src" / "main.ts").rename(tree / "ui" / "src" / "start.ts")
    assert hatch_build.build_is_due(tree)


def test_the_node_that_builds_is_the_one_that_is_locked() -> None:
    assert hatch_build.NODE_REQUIREMENT in (ROOT / "pyproject.toml").read_text()
    assert hatch_build.NODE_REQUIREMENT in (ROOT / "requirements.lock").read_text()


def test_a_missing_node_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _name: None)
    with pytest.raises(hatch_build.ScreenBuildError, match=hatch_build.NODE_REQUIREMENT):
        hatch_build.node_home()
