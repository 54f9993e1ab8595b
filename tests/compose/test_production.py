"""``redpoll production`` as its user runs it: check, import, export, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.compose.cli import EXIT_FAILED, EXIT_GOOD, EXIT_WRONG_USE, main
from fleet.model.production_json import production_as_object
from fleet.model.production_toml import write_production
from tests.planning.evening import PRODUCTION


@pytest.fixture
def config(tmp_path: Path) -> Path:
    file = tmp_path / "redpoll.toml"
    file.write_text(f'database = "sqlite:///{tmp_path}/journal.sqlite3"\n', encoding="utf-8")
    return file


def production(*words: str | Path) -> int:
    return main(["production", *(str(word) for word in words)])


def test_a_good_file_is_told_and_a_wrong_one_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good, wrong = tmp_path / "lamp.toml", tmp_path / "wrong.toml"
    good.write_text(write_production(PRODUCTION), encoding="utf-8")
    assert production("check", good) == EXIT_GOOD
    assert "5 rows in 1 zones, 3 acts, 5 cues, 1 planned sleeps" in capsys.readouterr().out
    wrong.write_text(good.read_text(encoding="utf-8").replace("on_air = [1, 3]", "on_air = [99]"), encoding="utf-8")
    assert production("check", wrong) == EXIT_WRONG_USE
    assert "wrong.toml: cue harbour.on_air: expected numbers of rows" in capsys.readouterr().err
    assert production("check", tmp_path / "lamp.txt") == EXIT_WRONG_USE


def test_what_is_imported_comes_out_in_every_form(
    tmp_path: Path, config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "lamp.json"
    source.write_text(json.dumps(production_as_object(PRODUCTION)), encoding="utf-8")
    assert production("export", config, tmp_path / "none.toml") == EXIT_FAILED
    assert production("import", config, source) == EXIT_GOOD
    assert "is revision 1" in capsys.readouterr().out
    for suffix in ("toml", "json", "csv"):
        assert production("export", config, tmp_path / f"out.{suffix}") == EXIT_GOOD
    assert (tmp_path / "out.toml").read_text(encoding="utf-8") == write_production(PRODUCTION)
    assert json.loads((tmp_path / "out.json").read_text(encoding="utf-8")) == production_as_object(PRODUCTION)
    cast = (tmp_path / "out.csv").read_text(encoding="utf-8")
    (tmp_path / "cast.csv").write_text(cast.replace("Keeper", "Harbour keeper"), encoding="utf-8")
    assert production("import", config, tmp_path / "cast.csv") == EXIT_GOOD
    assert "is revision 2" in capsys.readouterr().out
    assert production("export", config, tmp_path / "out.csv") == EXIT_FAILED, (
        "a file that is there is never overwritten"
    )
