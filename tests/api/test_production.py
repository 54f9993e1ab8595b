"""The production over the API: forms, revisions, single members, and what is refused without changing anything."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from api.roles import Role
from fleet.model.production_csv import write_cast
from fleet.model.production_json import production_as_object
from fleet.model.production_toml import write_production
from tests.api.conftest import Stage
from tests.planning.evening import PRODUCTION

AT = "/api/v1/production"
SEEN = {"If-Match": '"3"'}


@pytest.fixture
def evening(stage: Stage) -> Stage:
    stage.console.now_production = PRODUCTION
    return stage


@pytest.fixture
def writer(evening: Stage) -> TestClient:
    return evening.client(Role.ENGINEER)


def refused(answer: Response, status: int, code: str) -> dict[str, Any]:
    body: dict[str, Any] = answer.json()
    assert (answer.status_code, body["code"]) == (status, code), body
    return body


@pytest.mark.parametrize(
    ("query", "accept", "kind", "text"),
    [
        ("?format=toml", None, "application/toml", write_production(PRODUCTION)),
        ("?format=csv", None, "text/csv", write_cast(PRODUCTION)),
        ("", "application/toml", "application/toml", write_production(PRODUCTION)),
        ("", "text/html, text/csv;q=0.9", "text/csv", write_cast(PRODUCTION)),
    ],
)
def test_it_is_shown_in_the_form_that_is_asked_for(
    writer: TestClient, query: str, accept: str | None, kind: str, text: str
) -> None:
    answer = writer.get(AT + query, headers={"Accept": accept} if accept else {})
    assert answer.headers["Content-Type"].startswith(kind)
    assert answer.content.decode() == text
    assert answer.headers["ETag"] == '"3"'


def test_json_is_what_is_given_without_a_word(writer: TestClient) -> None:
    for accept in ("*/*", "text/html"):
        assert writer.get(AT, headers={"Accept": accept}).json() == production_as_object(PRODUCTION)
    refused(writer.get(f"{AT}?format=xml"), 422, "invalid-request")


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("application/toml", write_production(PRODUCTION).replace("Keeper", "Harbour keeper")),
        ("text/csv; charset=utf-8", write_cast(PRODUCTION).replace("Keeper", "Harbour keeper")),
    ],
)
def test_it_is_replaced_in_each_form(evening: Stage, writer: TestClient, kind: str, body: str) -> None:
    answer = writer.put(AT, content=body.encode(), headers={**SEEN, "Content-Type": kind})
    assert (answer.status_code, answer.headers["ETag"]) == (200, '"4"')
    assert answer.json()["positions"][0]["part"] == "Harbour keeper"
    assert evening.console.now_production.order == PRODUCTION.order
    assert evening.console.kept_productions[-1][1] == "Stage Left"


def test_json_replaces_the_whole_of_it(evening: Stage, writer: TestClient) -> None:
    body = {"name": "Fair", "zones": [], "positions": []}
    assert writer.put(AT, json=body, headers=SEEN).status_code == 200
    assert evening.console.now_production.order.cues == ()


@pytest.mark.parametrize(
    ("kind", "body", "expected"),
    [
        ("application/json", b"{", (400, "unreadable-body")),
        ("application/json", b"[]", (422, "invalid-request")),
        ("application/json", b'{"name": "x", "canary-member": 1}', (422, "value-refused")),
        ("application/json", b'{"name": "x", "<b>canary</b>": 1}', (422, "value-refused")),
        ("application/toml", b"name = ", (422, "value-refused")),
        ("application/toml", b"\xff", (400, "unreadable-body")),
        ("text/csv", b"number;part", (422, "value-refused")),
        ("text/plain", b"x", (415, "media-type-refused")),
    ],
)
def test_what_can_t_be_read_changes_nothing(
    evening: Stage, writer: TestClient, kind: str, body: bytes, expected: tuple[int, str]
) -> None:
    refused(writer.put(AT, content=body, headers={**SEEN, "Content-Type": kind}), *expected)
    assert (evening.console.now_production, evening.console.production_revision) == (PRODUCTION, 3)


def test_a_write_needs_the_revision_that_stands(evening: Stage, writer: TestClient) -> None:
    body = {"name": "Fair", "zones": [], "positions": []}
    sends: tuple[Callable[[dict[str, str]], Response], ...] = (
        lambda headers: writer.put(AT, json=body, headers=headers),
        lambda headers: writer.patch(AT, json={"name": "Fair"}, headers=headers),
        lambda headers: writer.put(f"{AT}/positions/1", json={}, headers=headers),
        lambda headers: writer.patch(f"{AT}/cues/quay", json={"name": "x"}, headers=headers),
        lambda headers: writer.delete(f"{AT}/positions/18", headers=headers),
        lambda headers: writer.post(f"{AT}/revisions/3/revert", headers=headers),
    )
    for send in sends:
        refused(send({}), 428, "revision-missing")
        for stale in ('"2"', '"soon"'):
            assert refused(send({"If-Match": stale}), 412, "stale-revision")["current"]["revision"] == "3"
    assert evening.console.now_production is PRODUCTION


def test_single_fields_are_patched(evening: Stage, writer: TestClient) -> None:
    answer = writer.patch(AT, json={"name": "The Lamp", "practice": {"swap_margin_min": 30}}, headers=SEEN)
    assert (answer.json()["name"], answer.json()["practice"]["wake_lead_min"]) == ("The Lamp", 10)
    assert evening.console.now_production.practice.swap_margin_min == 30
    wrongs: tuple[dict[str, Any], ...] = ({}, {"positions": []}, {"practice": 3}, {"name": None})
    for wrong in wrongs:
        assert writer.patch(AT, json=wrong, headers={"If-Match": '"4"'}).status_code == 422
    assert evening.console.production_revision == 4


def test_members_of_lists_have_addresses_of_their_own(evening: Stage, writer: TestClient) -> None:
    assert writer.get(f"{AT}/positions/17").json()["part"] == "Fiddler"
    answer = writer.patch(f"{AT}/positions/17", json={"part": "Piper", "owner": "stage left"}, headers=SEEN)
    assert (answer.json()["part"], answer.json()["channel"]) == ("Piper", "rack-17/channel/1")
    cue = {"name": "The fog", "act": "prologue", "planned_start_s": 0, "duration_s": 60, "on_air": [17]}
    refused(writer.put(f"{AT}/cues/fog", json=cue, headers={"If-Match": '"4"'}), 422, "value-refused")
    after_quay = {**cue, "act": "two", "planned_start_s": 3600}
    assert writer.put(f"{AT}/cues/fog", json=after_quay, headers={"If-Match": '"4"'}).json()["cue_id"] == "fog"
    cues = [cue.cue_id for cue in evening.console.now_production.order.cues]
    assert cues == ["quay", "harbour", "interval", "fog", "storm", "dawn"]
    body = refused(writer.delete(f"{AT}/cues/interval", headers={"If-Match": '"5"'}), 422, "value-refused")
    assert body["field"] == "sleep rest.from_cue"
    assert writer.delete(f"{AT}/sleeps/rest", headers={"If-Match": '"5"'}).status_code == 200
    assert writer.delete(f"{AT}/cues/interval", headers={"If-Match": '"6"'}).status_code == 200
    rack = {"devices": ["rack-1", "rack-3"]}
    named = writer.put(f"{AT}/racks/House left", json=rack, headers={"If-Match": '"7"'}).json()
    assert named == {"name": "House left", "devices": ["rack-1", "rack-3"]}
    refused(writer.get(f"{AT}/cues/interval"), 404, "not-found")
    refused(writer.get(f"{AT}/props/lamp"), 422, "invalid-request")
    refused(writer.patch(f"{AT}/acts/four", json={}, headers={"If-Match": '"8"'}), 404, "not-found")


def test_an_optional_field_is_taken_away_by_null_and_a_needed_one_isn_t(evening: Stage, writer: TestClient) -> None:
    gone = writer.patch(f"{AT}/positions/17", json={"pack": None}, headers=SEEN)
    assert gone.json()["pack"] is None
    body = refused(
        writer.patch(f"{AT}/positions/17", json={"channel": None}, headers={"If-Match": '"4"'}), 422, "value-refused"
    )
    assert body["field"].endswith(".channel")
    assert evening.console.production_revision == 4


def test_every_revision_is_kept_and_an_older_one_comes_back_as_a_new_one(evening: Stage, writer: TestClient) -> None:
    evening.console.kept_productions = [(3, "start-up", PRODUCTION)]
    writer.patch(AT, json={"name": "The Lamp"}, headers=SEEN)
    listed = writer.get(f"{AT}/revisions?limit=1").json()
    assert listed == {"items": [{"revision": 4, "by": "Stage Left", "at_utc_us": 7}], "next": "4"}
    assert [one["revision"] for one in writer.get(f"{AT}/revisions?cursor=4").json()["items"]] == [3]
    assert writer.get(f"{AT}/revisions/3?format=toml").content.decode() == write_production(PRODUCTION)
    back = writer.post(f"{AT}/revisions/3/revert", headers={"If-Match": '"4"'})
    assert (back.json()["name"], back.headers["ETag"]) == (PRODUCTION.name, '"5"')
    refused(writer.get(f"{AT}/revisions/9"), 404, "not-found")


def test_an_operator_reads_and_an_engineer_writes(evening: Stage) -> None:
    operator = evening.client(Role.OPERATOR)
    assert operator.get(f"{AT}/positions/1").status_code == 200
    for answer in (
        operator.put(AT, json={}, headers=SEEN),
        operator.patch(AT, json={}, headers=SEEN),
        operator.delete(f"{AT}/positions/1", headers=SEEN),
        operator.post(f"{AT}/revisions/3/revert", headers=SEEN),
    ):
        refused(answer, 403, "role-missing")
