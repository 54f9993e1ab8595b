"""Surveys over the API: kept from files and scans, shown, looked into, held against each other; who may do what."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from api import door
from api.roles import Role
from fleet import surveys
from fleet.errors import LimitReached
from fleet.model.capability import Capability, Held
from fleet.model.command import Command, CommandState
from fleet.model.event import DocumentApplied
from tests.api.conftest import Stage
from tests.api.fake_facts import FREQUENCY, describe
from tests.api.fake_plans import REQUEST

SURVEYS = "/api/v1/surveys"
CSV = {"Content-Type": "text/csv"}
# 25 kHz steps from 470 MHz at -105 dBm; a carrier of -60 dBm on 471.000 and 471.025 MHz.
ROWS = [f"{470_000 + 25 * point},{-60.0 if point in {40, 41} else -105.0}" for point in range(400)]
FILE = "Frequency (kHz),Level (dBm)\n" + "\n".join(ROWS) + "\n"
ABOUT = "place=House%20left&instrument=wand&taken_at=2023-11-14T20:00:00Z&file=evening.csv"


def refused(answer: Response, status: int, code: str) -> dict[str, Any]:
    body: dict[str, Any] = answer.json()
    assert (answer.status_code, body["code"]) == (status, code), body
    return body


def send(client: TestClient, text: str, about: str = ABOUT) -> Response:
    return client.post(f"{SURVEYS}?{about}", content=text.encode(), headers=CSV)


def command(command_id: str, state: CommandState = CommandState.CONFIRMED, act: str = "scan") -> Command:
    return Command(command_id, "house-1/carrier/1/branch/a", "house-1", {}, "", "Engineer", 1, state, 9, act=act)


def test_a_file_is_kept_with_where_when_and_with_what(stage: Stage, engineer: TestClient) -> None:
    answer = send(engineer, FILE)
    assert (answer.status_code, answer.headers["Location"]) == (201, f"{SURVEYS}/house-left-20231114-2000")
    facts = answer.json()
    assert (facts["place"], facts["instrument"], facts["file"]) == ("House left", "wand", "evening.csv")
    assert facts["taken_at_utc_us"] == 1_699_992_000_000_000, "2023-11-14T20:00:00Z, by `date`"
    assert (facts["start_hz"], facts["step_hz"], facts["points"], facts["sweeps"]) == (470_000_000, 25_000, 400, 1)
    assert (facts["source"], facts["simulated"], facts["by"]) == ("file", False, "Stage Left")
    assert "kHz, as the header says" in facts["words"]
    assert engineer.get(SURVEYS).json()["items"] == [facts]
    shown = engineer.get(answer.headers["Location"]).json()
    assert shown["maximum_dbm"][39:42] == [-105.0, -60.0, -60.0]
    assert shown["occupancy"][39:42] == [0.0, 1.0, 1.0]
    (noted,) = [event for event in stage.console.noted if isinstance(event, DocumentApplied)]
    assert (noted.document, noted.revision) == ("scan/house-left-20231114-2000", 1)


def test_two_of_one_minute_bear_two_names_and_the_latest_comes_first(engineer: TestClient) -> None:
    names = [send(engineer, FILE).json()["scan_id"] for _ in range(2)]
    later = send(engineer, FILE, "place=Quay").json()
    assert names == ["house-left-20231114-2000", "house-left-20231114-2000-2"]
    assert "was not said" in later["words"]
    listed = engineer.get(f"{SURVEYS}?limit=2").json()
    assert [each["scan_id"] for each in listed["items"]] == [later["scan_id"], names[0]]
    rest = engineer.get(f"{SURVEYS}?limit=2&cursor={listed['next']}").json()
    assert ([each["scan_id"] for each in rest["items"]], rest["next"]) == ([names[1]], None)


def test_what_a_scan_shows_and_what_has_changed(engineer: TestClient) -> None:
    first = send(engineer, FILE).json()["scan_id"]
    second = send(engineer, FILE.replace(",-60.0", ",-105.0")).json()["scan_id"]
    found = engineer.get(f"{SURVEYS}/{first}/found?region=region-1").json()
    (carrier,) = found["carriers"]
    assert (carrier["start_hz"], carrier["stop_hz"], carrier["peak_dbm"]) == (470_987_500, 471_037_500, -60.0)
    assert {point["floor_dbm"] for point in found["floor"]} == {-105.0}
    assert [block["name"] for block in found["blocks"]] == ["21", "22"]
    assert found["exclusions"] == [{"start_hz": 470_987_500, "stop_hz": 471_037_500, "words": "survey of House left"}]
    gone = engineer.get(f"{SURVEYS}/{second}/against/{first}").json()
    (change,) = gone["changes"]
    assert (change["change"], change["change_db"], change["start_hz"]) == ("went", -45.0, 470_987_500)
    refused(engineer.get(f"{SURVEYS}/{first}/found?region=atlantis"), 404, "not-found")
    refused(engineer.get(f"{SURVEYS}/nowhere"), 404, "not-found")
    refused(engineer.get(f"{SURVEYS}/{first}/against/nowhere"), 404, "not-found")


@pytest.mark.parametrize(
    ("text", "about", "code", "said"),
    [
        (FILE + "471,-90\n", ABOUT, "value-refused", "line 402"),
        (FILE + "471000,nan\n", ABOUT, "value-refused", "line 402"),
        ("", ABOUT, "value-refused", "line 1"),
        ("seven gulls\n", ABOUT, "value-refused", "line 1"),
        (FILE, "instrument=wand", "invalid-request", "/place"),
        (FILE, "place=Quay&taken_at=yesterday", "invalid-request", "/taken_at"),
        (FILE, "place=Quay&taken_at=2023-11-14T20:00:00", "invalid-request", "/taken_at"),
        (FILE, "place=Quay&taken_at=2043-11-14T20:00:00Z", "invalid-request", "/taken_at"),
        (FILE, "place=Quay&bandwidth_hz=0", "invalid-request", "bandwidth_hz"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_kept(
    text: str, about: str, code: str, said: str, engineer: TestClient
) -> None:
    answer = refused(send(engineer, text, about), 422, code)
    assert said in answer["detail"]
    assert "gulls" not in answer["detail"], "nothing that was sent is repeated"
    assert engineer.get(SURVEYS).json()["items"] == []


def test_what_scans_brought_is_kept_each_a_sweep(stage: Stage, engineer: TestClient) -> None:
    for name in ("c1", "c2"):
        stage.console.known_commands[name] = command(name)
    body = {"command_id": "c2", "place": "House right", "earlier_command_ids": ["c1"]}
    facts = engineer.post(SURVEYS, json=body).json()
    assert (facts["source"], facts["instrument"], facts["sweeps"]) == ("act", "house-1/carrier/1/branch/a", 2)
    assert (facts["simulated"], facts["taken_at_utc_us"], facts["bandwidth_hz"]) == (True, 9, 25_000)
    shown = engineer.get(f"{SURVEYS}/{facts['scan_id']}").json()
    assert shown["maximum_dbm"] == [-101.5], "what wasn't measured at the end isn't part of it"


def test_what_no_scan_brought_is_not_kept(stage: Stage, engineer: TestClient) -> None:
    stage.console.known_commands["c1"] = command("c1", CommandState.ACCEPTED)
    stage.console.known_commands["c2"] = command("c2", act="identify")
    stage.console.known_commands["c3"] = command("c3")
    for name in ("c1", "c2"):
        refused(engineer.post(SURVEYS, json={"command_id": name, "place": "Quay"}), 409, "not-possible-now")
    twice = {"command_id": "c3", "place": "Quay", "earlier_command_ids": ["c3"]}
    refused(engineer.post(SURVEYS, json=twice), 409, "not-possible-now")
    refused(engineer.post(SURVEYS, json={"command_id": "c9", "place": "Quay"}), 404, "not-found")
    refused(engineer.post(SURVEYS, json={"command_id": "c3", "place": ""}), 422, "invalid-request")
    refused(engineer.post(SURVEYS, content=b"<x/>", headers={"Content-Type": "text/xml"}), 415, "media-type-refused")


def test_only_an_engineer_keeps(stage: Stage, viewer: TestClient) -> None:
    refused(send(viewer, FILE), 403, "role-missing")
    refused(send(stage.client(Role.OPERATOR), FILE), 403, "role-missing")
    assert viewer.get(SURVEYS).json() == {"items": [], "next": None}


def test_bounds(stage: Stage, engineer: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    stage.console.jobs.fails_with = LimitReached("reckonings at once", 16)
    refused(send(engineer, FILE), 429, "limit-reached")
    stage.console.jobs.fails_with = None
    monkeypatch.setattr(surveys, "SURVEYS_MAXIMUM", 1)
    assert send(engineer, FILE).status_code == 201
    refused(send(engineer, FILE), 429, "limit-reached")
    long = FILE + "\n" * door.BODY_BYTES_MAXIMUM
    monkeypatch.setattr(surveys, "SURVEYS_MAXIMUM", 2)
    assert send(engineer, long).status_code == 201, "a file may be longer than a request"
    monkeypatch.setattr(door, "FILE_BYTES_MAXIMUM", door.BODY_BYTES_MAXIMUM)
    refused(send(engineer, long), 413, "body-too-large")
    elsewhere = engineer.post("/api/v1/plans", content=long.encode(), headers=CSV)
    refused(elsewhere, 413, "body-too-large")
    monkeypatch.setattr(door, "FILES_AT_ONCE", 0)
    refused(send(engineer, FILE), 429, "too-many-requests")


def test_regions_carry_their_sources(viewer: TestClient) -> None:
    listed = viewer.get("/api/v1/regions").json()["items"]
    assert [each["name"] for each in listed] == ["australia", "japan", "region-1", "united-states"]
    for region in listed:
        for raster in region["rasters"]:
            assert raster["source"]
            assert raster["dated"]
            assert isinstance(raster["unverified"], bool)


def test_spares_of_a_plan_are_ranked_by_what_a_survey_heard(engineer: TestClient) -> None:
    """One spare on the strong carrier of the file, one where it is quiet; the look is years old by then."""
    scan_id = send(engineer, FILE).json()["scan_id"]
    place = {"group": "House", "zone": "House"}
    spares = [{**place, "frequency_hz": hz, "rank": rank} for rank, hz in ((1, 471_000_000), (2, 474_000_000))]
    request = {**REQUEST, "group": [{**REQUEST["group"][0], "spares": 2}]}
    plan = {"title": "Quay", "request": request, "carriers": [], "spares": spares}
    assert engineer.put("/api/v1/plans/looked", json=plan).status_code == 200
    answer = engineer.post("/api/v1/plans/looked/spares/look", json={"surveys": [scan_id]})
    assert answer.headers["ETag"] == '"2"'
    best, taken = answer.json()["spares"]
    assert (best["frequency_hz"], best["rank"], best["quiet_dbm"]) == (474_000_000, 1, -105.0)
    assert best["quiet_at_utc_us"] == 1_699_992_000_000_000
    assert (taken["frequency_hz"], taken["quiet_at_utc_us"], taken["quiet_dbm"]) == (471_000_000, None, -60.0)
    refused(engineer.post("/api/v1/plans/looked/spares/look", json={"surveys": ["never"]}), 404, "not-found")
    refused(engineer.post("/api/v1/plans/looked/spares/look", json={"surveys": []}), 422, "invalid-request")


def test_what_gear_is_tuned_to_has_the_shape_of_a_request(
    stage: Stage, viewer: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One device says which frequencies its carrier takes; another has not described itself yet."""
    capability = Capability(("house-1/carrier/1",), "frequency_hz", FREQUENCY, Held.RECEIVER)
    first, second = stage.console.devices()
    tuned = replace(first, description=replace(describe("house-1"), capabilities=(capability,)))
    monkeypatch.setattr(stage.console, "devices", lambda: (tuned, second))
    (found,) = viewer.get("/api/v1/tunings").json()["items"]
    assert found["carriers"] == ["house-1/carrier/1"]
    assert found["tuning"] == {
        "name": "470 to 516 MHz, digital",
        "step_hz": 25_000,
        "ranges": [[470_000_000, 516_000_000]],
        "words": "",
    }
    assert (found["profile"]["name"], found["profile"]["spacing_hz"]) == ("digital", 400_000)
