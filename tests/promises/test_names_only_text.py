"""Names are only text in every export, in the log and in a path: no formula, no forged line, nothing outside the root.

That no screen runs one is tried in a browser (tests/browser/test_names.py).
"""

from __future__ import annotations

import csv
import io
import json
import logging
import tomllib
from functools import partial
from pathlib import Path
from urllib.parse import quote

import numpy as np

from api.compose.logs import HumanForm, JsonForm
from api.roles import Role
from fleet.model.device_list import DeviceList, ListedDevice
from fleet.model.device_list_toml import write_device_list
from fleet.model.production import Position, Production
from fleet.model.production_csv import read_cast, write_cast
from fleet.model.production_json import production_as_object, production_of_object
from fleet.model.production_toml import write_production
from tests.api.conftest import SITE, Stage, make_stage
from tests.promises.hostile_names import FORMULAS, FRAMES, NAME_LENGTH_MAXIMUM, NAMES
from tests.promises.promise import Promise, Seen, keep

PROMISE = Promise(
    "names_only_text",
    "names are only text",
    "hostile names as part, zone, owner, label, words of a log and path",
    "names",
    (120, 4_000, 100_000),
)
NAMES_A_TRIAL = 40
CANARY = "canary-beside-the-root"
FORMULA_BEGINS = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""The characters that begin a formula: OWASP, "CSV Injection"; the last four are the full-width ones."""
FOLDERS = ("/ui/", "/ui/assets/", "/api/v1/packs/", "/api/v1/devices/", "/api/v1/problems/", "/")
CLIMBS = ("../", "..%2f", "%2e%2e/", "..\\", "/", "%00", "")


def test_a_name_stays_a_name_wherever_it_goes(tmp_path: Path) -> None:
    root = tmp_path / "screen"
    root.mkdir()
    (root / "index.html").write_text("<!doctype html>the screen")
    (tmp_path / "secret.txt").write_text(CANARY)
    keep(PROMISE, partial(tried, make_stage(root)))


def tried(stage: Stage, seed: int) -> Seen:
    luck = np.random.default_rng(seed)
    names = [_name(luck) for _ in range(NAMES_A_TRIAL)]
    production = _production(names)
    cells = _as_csv(production)
    _as_toml_and_json(production, names)
    _in_the_log(names)
    asked = _in_paths(stage, names, luck)
    return {"names": len(names), "cells of CSV": cells, "paths asked for": asked}


def _name(luck: np.random.Generator) -> str:
    if luck.random() < 0.3:
        return FORMULAS[luck.integers(len(FORMULAS))]
    frame, inner = FRAMES[luck.integers(len(FRAMES))], NAMES[luck.integers(len(NAMES))]
    return frame.format(inner, inner)[:NAME_LENGTH_MAXIMUM]


def _production(names: list[str]) -> Production:
    zones = tuple(dict.fromkeys(names[:10]))
    positions = tuple(
        Position(number, name, zones[number % len(zones)], f"quay-1/channel/{number}", None, False, name)
        for number, name in enumerate(names, start=1)
    )
    return Production(names[-1], zones, positions)


def _as_csv(production: Production) -> int:
    text = write_cast(production)
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len(rows) == len(production.positions) + 1, "no name makes a row"
    assert {len(row) for row in rows} == {len(rows[0])}, "no name makes a cell"
    formulas = [cell for row in rows for cell in row if cell.startswith(FORMULA_BEGINS)]
    assert not formulas, formulas
    assert read_cast(text, "cast.csv", production).positions == production.positions
    return sum(len(row) for row in rows)


def _as_toml_and_json(production: Production, names: list[str]) -> None:
    """Read by readers that aren't ours."""
    written = tomllib.loads(write_production(production))
    parts = [row["part"] for zone in written["zone"] for row in zone["position"]]
    assert sorted(parts) == sorted(names)
    text = json.dumps(production_as_object(production))
    assert [row["part"] for row in json.loads(text)["positions"]] == names
    assert production_of_object(json.loads(text), "production.json") == production
    listed = DeviceList(tuple(ListedDevice(f"d-{n}", "ws://10.0.0.9:20001/", name) for n, name in enumerate(names)))
    assert [row["label"] for row in tomllib.loads(write_device_list(listed))["device"]] == names


def _in_the_log(names: list[str]) -> None:
    for name in names:
        record = logging.LogRecord(
            "fleet.dispatch", logging.WARNING, "x.py", 1, "%s: %s.", (f"{name}\n\x1b[2J", name), None
        )
        for form in (HumanForm(), JsonForm()):
            assert form.format(record).isprintable(), "one line, and no code for a terminal"


def _in_paths(stage: Stage, names: list[str], luck: np.random.Generator) -> int:
    client = stage.client(Role.ENGINEER)
    for name in names:
        folder, climb = FOLDERS[luck.integers(len(FOLDERS))], CLIMBS[luck.integers(len(CLIMBS))]
        times = int(luck.integers(1, 4))
        told = name if luck.random() < 0.5 else "secret.txt"
        path = folder + climb * times + (quote(told, safe="") if luck.random() < 0.5 else quote(told, safe="/"))
        answer = client.get(SITE + path, follow_redirects=False)
        assert CANARY not in answer.text, path
        assert answer.status_code < 500, path
        assert answer.status_code != 200 or answer.headers["content-type"].startswith(("text/html", "application/")), (
            path
        )
    return len(names)
