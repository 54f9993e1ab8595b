"""What a change would do, over the API: asked strictly, answered with the caution, nothing changed."""

from __future__ import annotations

import dataclasses
import json
import re
from typing import Any

import msgspec
import pytest
from starlette.testclient import TestClient

from api import what_if_requests as asked
from api.requests import StrictModel
from api.roles import Role
from api.what_if_requests import WhatIfRequest
from fleet.errors import LimitReached
from fleet.journal.documents import Document
from fleet.planning.what_if import changes, known_carriers, question, site
from tests.api.conftest import Stage
from tests.api.fake_plans import PLAN, REQUEST
from tests.api.test_plans import refused
from tests.house.tree import ROOT

WHAT_IF = "/api/v1/plans/quay/what-if"
# 470.0, 470.5 and 471.5 MHz, of which no product falls on another; 472.5 MHz is 2 x 471.5 - 470.5.
VICTIM: dict[str, Any] = {"group": "House", "frequency_hz": 472_500_000}
PACKS: dict[str, Any] = {"power_dbm": 10.0, "position_m": [3.0, 4.0], "steps_dbm": [0.0, 10.0]}
ANTENNA: dict[str, Any] = {"name": "House left", "zone": "House", "position_m": [0.0, 0.0]}
LOWEST: dict[str, Any] = {"kind": "lowest step", "chosen": {"but": [VICTIM]}}
QUESTION: dict[str, Any] = {"packs": [PACKS], "antennas": [ANTENNA], "changes": [LOWEST]}


@pytest.fixture
def with_victim(stage: Stage) -> Stage:
    """The plan with a fourth carrier, on a product."""
    carriers = [*PLAN["carriers"], {**VICTIM, "zone": "House"}]
    stage.console.documents.kept.append(Document("plan", "quay", 2, {**PLAN, "carriers": carriers}, "Engineer", 8))
    return stage


def test_everyone_else_at_the_lowest_step(with_victim: Stage, viewer: TestClient) -> None:
    """10 dB less of all makers is 30 dB less of what they make on a carrier that stays as it is (arithmetic)."""
    before = viewer.get("/api/v1/plans/quay").json()
    answer = viewer.post(WHAT_IF, json=QUESTION)
    assert answer.status_code == 200
    body = answer.json()
    assert "walk test governs" in body["caution"]
    assert [each["frequency_hz"] for each in body["carriers"]] == [470_000_000, 470_500_000, 471_500_000, 472_500_000]
    victim = body["carriers"][3]
    assert victim["after"]["over_products_db"] - victim["before"]["over_products_db"] == pytest.approx(30.0, abs=1e-6)
    # P.525 by hand at 472.5 MHz over 5 m: 53.488 + 13.979 - 27.552 = 39.915 dB; 10 dBm e.r.p. are 12.15 dBm e.i.r.p.
    assert victim["after"]["level_dbm"] == pytest.approx(12.15 - 39.915, abs=0.005)
    assert victim["gain_db"] > 25.0
    worst = victim["before"]["worst"]
    assert (worst["family"], worst["is_proven"]) == ("2A-B", True)
    assert [each["frequency_hz"] for each in worst["makers"]] == [471_500_000, 470_500_000]
    assert body["loads"][0]["antenna"] == "House left"
    assert viewer.get("/api/v1/plans/quay").json() == before
    assert [each.revision for each in with_victim.console.documents.kept] == [1, 2]


def test_the_last_of_several_packs_counts_and_zones_come_from_the_plan(viewer: TestClient) -> None:
    near = {
        **PACKS,
        "chosen": {"carriers": [{"group": "House", "frequency_hz": 470_500_000}]},
        "position_m": [0.0, 1.0],
    }
    body = viewer.post(WHAT_IF, json={**QUESTION, "packs": [PACKS, near], "changes": []}).json()
    levels = [each["before"]["level_dbm"] for each in body["carriers"]]
    assert levels[1] - levels[0] == pytest.approx(20.0 * 0.69897, abs=0.02), "5 m against 1 m: 13.98 dB"
    assert [each["gain_db"] for each in body["carriers"]] == [0.0, 0.0, 0.0]


def test_zones_apart_by_the_plan_do_not_hear_one_another(stage: Stage, viewer: TestClient) -> None:
    quay = {"name": "Quay", "zone": "Quay", "profile": "analog", "count": 1}
    request = {**REQUEST, "group": [*REQUEST["group"], quay], "isolation": [{"zones": ["House", "Quay"]}]}
    both = [{"group": group, "zone": group, "frequency_hz": 470_000_000} for group in ("House", "Quay")]
    plan = {**PLAN, "request": request, "carriers": both}
    stage.console.documents.kept.append(Document("plan", "quay", 2, plan, "Engineer", 8))
    antennas = [ANTENNA, {**ANTENNA, "name": "Quay", "zone": "Quay"}]
    body = viewer.post(WHAT_IF, json={**QUESTION, "antennas": antennas, "changes": []}).json()
    assert [each["before"]["over_others_db"] for each in body["carriers"]] == [None, None]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"packs": [{**PACKS, "distance_m": 5.0}]}, "packs[0].position_m"),
        ({"packs": [{"power_dbm": 10.0}]}, "packs[0].position_m"),
        ({"packs": [{**PACKS, "chosen": {"groups": ["Crew"]}}]}, "packs[0].chosen.groups"),
        ({"packs": [{**PACKS, "chosen": {"carriers": [{"group": "House", "frequency_hz": 470_500_000}]}}]}, "packs"),
        ({"antennas": [{**ANTENNA, "zone": "Attic"}]}, "antennas"),
        ({"antennas": [ANTENNA, ANTENNA]}, "antennas[1].name"),
        ({"changes": [{"kind": "lowest step", "chosen": {"zones": ["Attic"]}}]}, "changes[0].chosen.zones"),
        ({"changes": [{"kind": "antenna moved", "name": "Roof", "position_m": [0.0, 0.0]}]}, "changes[0].name"),
        ({"blocks": [{"start_hz": 2, "stop_hz": 1, "level_dbm": -60.0}]}, "blocks[0].stop_hz"),
        ({"changes": [{"kind": "louder"}]}, None),
        ({"changes": [{"kind": "power to"}]}, None),
        ({"packs": [{**PACKS, "power_dbm": 101.0}]}, None),
        ({"packs": [{**PACKS, "position_m": [1.0]}]}, None),
        ({"packs": []}, None),
        ({"antennas": []}, None),
        ({"antennas": [{**ANTENNA, "name": f"Left {number}"} for number in range(33)]}, None),
        ({"changes": [LOWEST] * 101}, None),
        ({"haste": True}, None),
    ],
)
def test_what_can_not_be_asked(viewer: TestClient, wrong: dict[str, Any], field: str | None) -> None:
    """The shape is refused by its members, what the plan doesn't allow by its key; nobody's names are repeated."""
    answer = viewer.post(WHAT_IF, json={**QUESTION, **wrong, "changes": wrong.get("changes", [])})
    body = refused(answer, 422, "invalid-request" if field is None else "value-refused")
    assert body.get("field") == field
    assert not {"Crew", "Attic", "Roof", "Left", "louder"} & set(re.findall(r"\w+", answer.text))


@pytest.mark.parametrize(
    ("wrong", "pointer", "reason"),
    [
        ({"changes": [{"kind": "louder"}]}, "/changes/0", "must be of one of the kinds 'power to', 'power by', "),
        ({"packs": [{**PACKS, "power_dbm": 101.0}]}, "/packs/0/power_dbm", "input should be less than or equal to 100"),
        ({"antennas": [{**ANTENNA, "height_m": 3.0}]}, "/antennas/0", "has a member that is not known"),
        ({"haste": True}, "", "has a member that is not known; known are antennas, blocks, changes, packs"),
    ],
)
def test_a_wrong_shape_is_pointed_at(viewer: TestClient, wrong: dict[str, Any], pointer: str, reason: str) -> None:
    faults = viewer.post(WHAT_IF, json={**QUESTION, **wrong}).json()["faults"]
    assert [each["pointer"] for each in faults] == [pointer]
    assert faults[0]["reason"].startswith(reason)


def test_bounds_and_roles(stage: Stage, viewer: TestClient) -> None:
    refused(viewer.post("/api/v1/plans/nowhere/what-if", json={**QUESTION, "changes": []}), 404, "not-found")
    refused(stage.client().post(WHAT_IF, json=QUESTION), 401, "session-missing")
    stage.console.jobs.fails_with = LimitReached("jobs that wait", 8)
    refused(stage.client(Role.VIEWER).post(WHAT_IF, json={**QUESTION, "changes": []}), 429, "limit-reached")


@pytest.mark.parametrize(
    ("model", "fact"),
    [
        (asked.WhatIfRequest, question.Question),
        (asked.WhatIfPacks, question.Packs),
        (asked.WhatIfChosen, known_carriers.Chosen),
        (asked.WhatIfAntenna, site.Antenna),
        (asked.WhatIfBlock, site.Block),
        *(
            (getattr(asked, name), getattr(changes, name))
            for name in ("PowerTo", "PowerBy", "LowestStep", "AntennaMoved", "BroadcasterOn")
        ),
    ],
)
def test_what_is_asked_has_the_shape_that_planning_takes(model: type[StrictModel], fact: type[Any]) -> None:
    if dataclasses.is_dataclass(fact):
        taken = {field.name: field.default for field in dataclasses.fields(fact)}
    else:
        taken = {field.name: field.default for field in msgspec.structs.fields(fact)}
    sent = {name: field.default for name, field in model.model_fields.items() if name != "kind"}
    assert sent.keys() == taken.keys()
    for name, default in sent.items():
        if isinstance(default, int | float | str):
            assert taken[name] == default, name


def test_every_change_that_can_be_asked_for_is_understood() -> None:
    """Through the shape of the request and into the question, each with all of its members."""
    every = [
        {"kind": "power to", "chosen": {"groups": ["House"]}, "power_dbm": 0.0, "reference": "eirp"},
        {"kind": "power by", "chosen": {"zones": ["House"]}, "change_db": -3.0},
        LOWEST,
        {"kind": "antenna moved", "name": "House left", "position_m": [1.0, 2.0]},
        {"kind": "broadcaster on", "block": {"start_hz": 1, "stop_hz": 2, "level_dbm": -60.0, "words": "channel 38"}},
    ]
    model = WhatIfRequest.model_validate({**QUESTION, "changes": every})
    found = question.question_of(model.model_dump())
    assert [type(each).__name__ for each in found.changes] == [
        "PowerTo",
        "PowerBy",
        "LowestStep",
        "AntennaMoved",
        "BroadcasterOn",
    ]
    assert found.changes[0] == changes.PowerTo(known_carriers.Chosen(groups=("House",)), 0.0, "eirp")
    assert found.changes[4] == changes.BroadcasterOn(site.Block(1, 2, -60.0, "channel 38"))


def test_the_example_of_the_guide_is_answered(viewer: TestClient) -> None:
    """The JSON in docs/what-if.md, as it stands there, about the plan of these tests."""
    text = (ROOT / "docs" / "what-if.md").read_text(encoding="utf-8")
    example = json.loads(text.split("```json")[1].split("```")[0])
    body = viewer.post(WHAT_IF, json=example).json()
    assert [each["antenna"] for each in body["loads"]] == ["House left"]
    keeper, *others = body["carriers"]
    assert keeper["after"]["level_dbm"] == keeper["before"]["level_dbm"]
    fallen = [each["after"]["level_dbm"] - each["before"]["level_dbm"] for each in others]
    assert fallen == pytest.approx([-10.0, -10.0])
    assert all(each["gain_db"] < -5.0 for each in body["carriers"]), "they all lie under the broadcaster"
    told = " ".join(text.replace("> ", "").replace("**", "").split())
    assert body["caution"] in told
