"""The layers hold, and the contracts of our own do refuse what they should."""

from __future__ import annotations

import configparser
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import grimp

from tests.house.contracts import DoorsContract, PureContract
from tests.house.tree import PACKAGES, ROOT

if TYPE_CHECKING:
    from importlinter import Contract


def graph_of(*imports: tuple[str, str]) -> grimp.ImportGraph:
    graph = grimp.ImportGraph()
    for importer, imported in imports:
        graph.add_import(importer=importer, imported=imported)
    return graph


def wrong_imports(contract: Contract, graph: grimp.ImportGraph) -> list[str]:
    found: list[str] = contract.check(graph, verbose=False).metadata["wrong"]
    return found


def doors(**options: list[str]) -> DoorsContract:
    return DoorsContract("doors", {}, {"importers": ["api"], "roots": ["fleet"], **options})


def pure(**options: list[str]) -> PureContract:
    return PureContract("pure", {}, {"pure": ["world"], "forbidden": ["asyncio"], **options})


def test_every_import_keeps_to_the_layers() -> None:
    linter = Path(sys.executable).parent / "lint-imports"
    outcome = subprocess.run([linter, "--no-logo", "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert outcome.returncode == 0, outcome.stdout + outcome.stderr


def test_the_fleet_must_declare_every_module() -> None:
    parser = configparser.ConfigParser()
    parser.read(ROOT / ".importlinter")
    section = parser["importlinter:contract:fleet"]
    assert section.getboolean("exhaustive")
    assert section["containers"].split() == ["fleet"]


def test_every_root_package_is_linted() -> None:
    parser = configparser.ConfigParser()
    parser.read(ROOT / ".importlinter")
    assert tuple(parser["importlinter"]["root_packages"].split()) == PACKAGES


def test_doors_refuse_an_import_past_them() -> None:
    graph = graph_of(("api.app", "fleet.runtime"), ("api.app", "fleet.rules.life"))
    assert wrong_imports(doors(doors=["fleet.runtime"]), graph) == ["api.app imports fleet.rules.life"]


def test_doors_leave_exceptions_and_other_roots_alone() -> None:
    graph = graph_of(("api.compose.cli", "fleet.rules"), ("api.app", "fastapi"), ("simulator.world", "fleet.rules"))
    assert wrong_imports(doors(doors=["fleet.runtime"], exceptions=["api.compose"]), graph) == []


def test_a_door_is_a_module_and_not_the_beginning_of_a_name() -> None:
    graph = graph_of(("api.app", "fleet.runtimes"))
    assert wrong_imports(doors(doors=["fleet.runtime"]), graph) == ["api.app imports fleet.runtimes"]


def test_pure_refuses_a_forbidden_module_through_another() -> None:
    graph = graph_of(("world.pack", "middle"), ("middle", "asyncio"))
    assert wrong_imports(pure(), graph) == ["world.pack -> middle -> asyncio"]


def test_pure_refuses_standing_on_the_shell_but_lets_the_shell_be() -> None:
    graph = graph_of(("world.server", "asyncio"), ("world.pack", "world.server"))
    assert wrong_imports(pure(shell=["world.server"]), graph) == ["world.pack -> world.server -> asyncio"]
