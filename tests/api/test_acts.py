"""Acts, locks and leases over the API: who may, what is answered, and that no argument comes back."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from api.roles import Role
from fleet.model.inputs import LockDevice, RequestAct, TakeLease, UnlockDevice
from tests.api.conftest import Stage

IDENTIFY = "/api/v1/devices/house-1/acts/identify"
SECRET = "the fog comes in at nine"


def test_an_act_is_taken_as_a_command_that_lives_on(stage: Stage, engineer: TestClient) -> None:
    answer = engineer.post(IDENTIFY, json={"arguments": {"seconds": 5}}, headers={"Command-Id": "mine"})
    assert answer.status_code == 202, answer.text
    assert answer.headers["location"] == "/api/v1/commands/mine"
    assert (answer.json()["act"], answer.json()["changes"]) == ("identify", {"seconds": 5})
    assert engineer.get("/api/v1/commands/mine").json() == answer.json()
    assert stage.console.asked == [RequestAct("mine", "house-1", "identify", {"seconds": 5})]


@pytest.mark.parametrize(
    ("path", "address"),
    [
        ("devices/house-1", "house-1"),
        ("devices/house-1/carriers/1", "house-1/carrier/1"),
        ("devices/house-1/carriers/1/branches/a", "house-1/carrier/1/branch/a"),
        ("devices/house-1/channels/1", "house-1/channel/1"),
        ("devices/house-1/outputs/1", "house-1/output/1"),
        ("devices/house-1/inputs/a", "house-1/input/a"),
        ("devices/house-1/bays/1", "house-1/bay/1"),
        ("packs/k01", "pack/k01"),
    ],
)
def test_every_kind_of_thing_is_addressed(stage: Stage, engineer: TestClient, path: str, address: str) -> None:
    engineer.post(f"/api/v1/{path}/acts/identify", json={})
    (asked,) = stage.console.asked
    assert isinstance(asked, RequestAct)
    assert asked.target == address
    assert engineer.get(f"/api/v1/{path}/settings").status_code == (200 if address == "pack/k01" else 404)


def test_an_act_that_is_not_offered_is_refused_with_what_is(engineer: TestClient) -> None:
    answer = engineer.post("/api/v1/devices/house-1/acts/dance", json={"arguments": {"key": SECRET}})
    assert (answer.status_code, answer.json()["code"]) == (422, "value-refused")
    assert answer.json()["allowed"] == {"acts": ["identify"]}
    assert SECRET not in answer.text


@pytest.mark.parametrize(
    "body",
    [
        {"arguments": {"key": None, "word": SECRET}},
        {"arguments": {"key": [SECRET]}},
        {"arguments": [SECRET]},
        {"arguments": {"key": SECRET}, "more": 1},
        {"arguments": {str(number): SECRET for number in range(33)}},
        {"arguments": {"key": SECRET * 1_000}},
        SECRET,
    ],
)
def test_a_wrong_shape_is_refused_and_not_repeated(stage: Stage, engineer: TestClient, body: object) -> None:
    answer = engineer.post(IDENTIFY, json=body)
    assert (answer.status_code, answer.json()["code"]) == (422, "invalid-request")
    assert SECRET not in answer.text
    assert stage.console.asked == []


def test_the_levels_of_a_scan_are_read_by_its_command(engineer: TestClient) -> None:
    engineer.post(IDENTIFY, json={}, headers={"Command-Id": "mine"})
    levels = engineer.get("/api/v1/commands/mine/levels").json()
    assert levels["stretches"][0]["levels_dbm"] == [-101.5, None]
    assert engineer.get("/api/v1/commands/other/levels").status_code == 404


def test_unlocking_says_why_and_for_how_long(stage: Stage, engineer: TestClient) -> None:
    answer = engineer.post("/api/v1/devices/house-1/unlock", json={"reason": "levels", "minutes": 5})
    assert answer.status_code == 200
    assert answer.json()["unlocked"]["by"] == "Stage Left"
    assert engineer.post("/api/v1/devices/house-1/lock").json()["unlocked"] is None
    assert engineer.post("/api/v1/devices/house-1/lease").status_code == 202
    asked = [UnlockDevice("house-1", "levels", 5), LockDevice("house-1"), TakeLease("house-1")]
    assert stage.console.asked == asked


@pytest.mark.parametrize("body", [{}, {"reason": ""}, {"reason": "x", "minutes": 11}, {"reason": "x", "minutes": 0}])
def test_unlocking_without_a_reason_or_for_long_is_refused(stage: Stage, engineer: TestClient, body: object) -> None:
    assert engineer.post("/api/v1/devices/house-1/unlock", json=body).status_code == 422
    assert stage.console.asked == []


def test_an_operator_does_none_of_it(stage: Stage) -> None:
    operator = stage.client(Role.OPERATOR)
    for path in (IDENTIFY, *(f"/api/v1/devices/house-1/{word}" for word in ("unlock", "lock", "lease"))):
        answer = operator.post(path, json={"reason": "x"})
        assert (answer.status_code, answer.json()["needed_role"]) == (403, "engineer")
    assert stage.console.asked == []


def test_outputs_inputs_and_bays_are_listed(viewer: TestClient) -> None:
    for name in ("outputs", "inputs", "bays"):
        assert viewer.get(f"/api/v1/{name}").json() == {"items": [], "next": None}
