"""One error shape, whatever went wrong and wherever."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx2
import jsonschema
import pytest

from api.door import RateBound
from api.problems import ADDRESS, KINDS, MEDIA_TYPE, problem_of
from api.roles import Role
from api.shapes import components
from fleet import errors
from fleet.clock import ManualClock
from tests.api.conftest import PORT, Stage, make_stage

SCHEMA = {"$ref": "#/components/schemas/Problem", "components": {"schemas": components()}}
SETTINGS = "/api/v1/packs/k01/settings"
JSON = {"Content-Type": "application/json"}
Ask = Callable[[Stage], httpx2.Response]

LOGIN = "/api/v1/session/login"


def write(stage: Stage, body: Any, **headers: str) -> httpx2.Response:
    return stage.client(Role.ENGINEER).patch(SETTINGS, json=body, headers={"If-Match": '"b1.1"', **headers})


def reuse(stage: Stage) -> httpx2.Response:
    write(stage, {"low_cut_hz": 100}, **{"Command-Id": "one"})
    return write(stage, {"low_cut_hz": 120}, **{"Command-Id": "one"})


def break_journal(stage: Stage) -> httpx2.Response:
    stage.console.reader.broken = True
    return stage.client(Role.VIEWER).get("/api/v1/journal")


def break_console(stage: Stage) -> httpx2.Response:
    del stage.console.reader
    return stage.client(Role.VIEWER).get("/api/v1/journal")


def cancel_twice(stage: Stage) -> httpx2.Response:
    write(stage, {"low_cut_hz": 100}, **{"Command-Id": "one"})
    client = stage.client(Role.OPERATOR)
    client.post("/api/v1/commands/one/cancel")
    return client.post("/api/v1/commands/one/cancel")


def ask_too_often(_: Stage) -> httpx2.Response:
    client = make_stage(rate=RateBound(ManualClock(), at_once=0.0)).client()
    return client.get("/healthz")


def be_unwell(stage: Stage) -> httpx2.Response:
    stage.console.journal_writable = False
    return stage.client().get("/healthz")


def lose(stage: Stage, error: errors.RedpollError) -> httpx2.Response:
    stage.console.fails_with = error
    return write(stage, {"low_cut_hz": 100})


CASES: list[tuple[str, Ask]] = [
    ("unreadable-body", lambda stage: stage.client().post("/api/v1/session/launch", content=b"{", headers=JSON)),
    ("bad-header", lambda stage: write(stage, {"low_cut_hz": 100}, **{"If-Match": "x"})),
    ("session-missing", lambda stage: stage.client().get("/api/v1/devices")),
    ("launch-refused", lambda stage: stage.client().post("/api/v1/session/launch", json={"token": "x"})),
    ("role-missing", lambda stage: stage.client(Role.VIEWER).patch(SETTINGS, json={"low_cut_hz": 100})),
    ("host-refused", lambda stage: stage.client().get("/healthz", headers={"Host": f"tern.example:{PORT}"})),
    ("origin-refused", lambda stage: stage.client().get("/healthz", headers={"Origin": "http://tern.example"})),
    ("not-found", lambda stage: stage.client(Role.VIEWER).get("/api/v1/devices/moon-1")),
    ("not-found", lambda stage: stage.client().get("/api/v1/moon")),
    ("not-found", lambda stage: stage.client().get("/api/v1/devices/")),
    ("login-refused", lambda stage: stage.client().post(LOGIN, json={"name": "Nobody", "password": "lantern"})),
    ("zone-held", lambda stage: lose(stage, errors.ZoneHeld("Quay", "Stage Left"))),
    ("method-not-allowed", lambda stage: stage.client().put("/healthz")),
    ("not-possible-now", cancel_twice),
    ("command-id-reused", reuse),
    ("stale-revision", lambda stage: write(stage, {"low_cut_hz": 100}, **{"If-Match": '"b1.0"'})),
    ("body-too-large", lambda stage: stage.client().post("/healthz", content=b"x" * 1_048_577)),
    ("media-type-refused", lambda stage: stage.client().post("/api/v1/session/launch", content=b"{}")),
    ("invalid-request", lambda stage: stage.client().post("/api/v1/session/launch", json={"token": 1})),
    ("invalid-request", lambda stage: stage.client(Role.VIEWER).get("/api/v1/devices?limit=0")),
    ("invalid-request", lambda stage: stage.client(Role.VIEWER).get("/api/v1/devices/UPPER")),
    ("value-refused", lambda stage: write(stage, {"low_cut_hz": 90})),
    ("revision-missing", lambda stage: stage.client(Role.ENGINEER).patch(SETTINGS, json={"low_cut_hz": 100})),
    ("too-many-requests", ask_too_often),
    ("limit-reached", lambda stage: lose(stage, errors.LimitReached("commands in flight", 100))),
    ("console-fault", break_console),
    ("journal-unavailable", break_journal),
    ("console-unwell", be_unwell),
    ("device-unreachable", lambda stage: lose(stage, errors.ContactFailed("house-1", "it is off"))),
]


@pytest.mark.parametrize(("code", "ask"), CASES, ids=[f"{number}-{code}" for number, (code, _) in enumerate(CASES)])
def test_every_error_has_the_one_shape(stage: Stage, code: str, ask: Ask) -> None:
    answer = ask(stage)
    body = answer.json()
    assert body["code"] == code
    assert answer.status_code == body["status"] == KINDS[code].status
    assert answer.headers["Content-Type"] == MEDIA_TYPE
    assert body["type"] == ADDRESS + code
    assert body["title"] == KINDS[code].title
    assert body["detail"].endswith(".")
    assert ("retry_after_s" in body) == ("Retry-After" in answer.headers)
    jsonschema.validate(body, SCHEMA)
    explained = stage.client().get(body["type"])
    assert explained.json()["remedy"] == KINDS[code].remedy


def test_every_kind_of_problem_is_met_above() -> None:
    assert KINDS.keys() == {code for code, _ in CASES}


def every_error(root: type[errors.RedpollError]) -> list[type[errors.RedpollError]]:
    return [root, *(inner for one in root.__subclasses__() for inner in every_error(one))]


def test_every_error_of_ours_becomes_a_problem_and_none_tells_a_path() -> None:
    made: dict[type[errors.RedpollError], tuple[Any, ...]] = {
        errors.InvalidDocument: ("/srv/rules.toml", "limit", "a number"),
        errors.NotFound: ("device", "moon-1"),
        errors.ValueRefused: ("pack/k01", "low_cut_hz", "must be one of 0, 80", {"enum": [0, 80]}),
        errors.CommandIdReused: ("one",),
        errors.ZoneHeld: ("Quay", "Stage Left"),
        errors.RevisionMissing: ("pack/k01",),
        errors.RevisionStale: ("pack/k01", "b1.1", "b1.2", {"low_cut_hz": 80}),
        errors.NotPermitted: ("engineer",),
        errors.LimitReached: ("commands in flight", 100),
        errors.MalformedMessage: ("not JSON",),
        errors.VersionMismatch: (["1.0"], ["2.0"]),
        errors.UnexpectedMessage: ("readings", "opening"),
        errors.SomeoneElse: ("quay-2", "quay-2 answers"),
        errors.DamagedTrace: ("quay-1.jsonl", 17, "the line breaks off"),
        errors.DeviceRefusal: ("busy", "later"),
        errors.ContactFailed: ("house-1", "off"),
        errors.JournalUnavailable: ("/srv/journal.sqlite3: disk I/O error",),
        errors.PortTaken: (80,),
    }
    for shape in every_error(errors.RedpollError):
        if shape.__module__ != errors.__name__:
            continue
        found = problem_of(shape(*made.get(shape, ())))
        assert found.code in KINDS
        assert "/srv" not in found.detail


def test_what_was_sent_is_never_repeated(stage: Stage) -> None:
    canary = "lantern-oil-7b1c"
    client = stage.client(Role.ENGINEER)
    answers = [
        client.post("/api/v1/session/launch", json={"token": [canary]}),
        client.post("/api/v1/session/launch", json={canary: 1, "token": "x"}),
        client.patch(SETTINGS, json={canary: 1}, headers={"If-Match": '"b1.1"'}),
        client.patch(SETTINGS, json={"low_cut_hz": canary}, headers={"If-Match": '"b1.1"'}),
        client.patch(SETTINGS, json={"low_cut_hz": 80}, headers={"If-Match": canary}),
        client.patch(SETTINGS, json={"low_cut_hz": 80}, headers={"If-Match": '"b1.1"', "Command-Id": canary + " "}),
        client.patch(SETTINGS, json={"low_cut_hz": 80}, headers={"If-Match": f'"{canary}"'}),
        client.get(f"/api/v1/devices/{canary}"),
        client.get(f"/api/v1/devices?limit={canary}"),
        client.get(f"/api/v1/journal?kind={canary}"),
        client.post("/api/v1/alarms/acknowledge", json={"alarm_ids": [canary]}),
        client.post("/api/v1/alarms/acknowledge", json={"alarm_ids": {canary: 1}}),
        client.get(f"/{canary}", headers={"Host": canary}),
    ]
    for answer in answers:
        assert answer.status_code >= 400, answer.request.url
        assert canary not in answer.text, answer.request.url
