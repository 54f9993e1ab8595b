"""What the routes answer: devices, rows, commands, alarms, the journal, the production, rules, pages."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from api.roles import Role
from tests.api.conftest import Stage, make_stage

SETTINGS = "/api/v1/packs/k01/settings"


def items(client: TestClient, path: str) -> list[dict[str, Any]]:
    answer = client.get(f"/api/v1/{path}")
    assert answer.status_code == 200, answer.text
    found: list[dict[str, Any]] = answer.json()["items"]
    return found


def write(stage: Stage, command_id: str, value: int) -> None:
    tag = f'"b1.{stage.console.revision}"'
    headers = {"If-Match": tag, "Command-Id": command_id}
    answer = stage.client(Role.ENGINEER).patch(SETTINGS, json={"low_cut_hz": value}, headers=headers)
    assert answer.status_code == 202


def test_devices_tell_their_contact_and_what_they_are(viewer: TestClient) -> None:
    heard, silent = items(viewer, "devices")
    assert (heard["device_id"], heard["contact"]["state"]) == ("house-1", "fresh")
    assert heard["description"]["simulated"] is True
    assert (silent["device_id"], silent["description"]) == ("quay-1", None)
    assert viewer.get("/api/v1/devices/house-1").json() == heard


def test_retry_tries_that_device(stage: Stage, engineer: TestClient) -> None:
    assert engineer.post("/api/v1/devices/quay-1/retry").status_code == 202
    assert stage.console.retried == ["quay-1"]
    assert engineer.post("/api/v1/devices/moon-1/retry").status_code == 404


def test_rows_carry_values_with_quality_and_age(viewer: TestClient) -> None:
    (channel,) = items(viewer, "channels")
    assert (channel["address"], channel["device_id"], channel["contact"]) == ("house-1/channel/1", "house-1", "fresh")
    assert channel["readings"]["peak_dbfs"] == {"value": 0.0, "quality": "good", "age_s": 0.3}
    assert channel["readings"]["audio_state"] == {"value": None, "quality": "absent", "age_s": None}
    assert channel["exact"] == {"identity": "pack/k01"}


def test_coded_readings_are_words_and_flags_are_flags(viewer: TestClient) -> None:
    (pack,) = items(viewer, "packs")
    assert pack["device_id"] == "house-1"
    assert pack["readings"]["switch"]["value"] == "on"
    assert pack["readings"]["asleep"]["value"] is False


def test_each_branch_has_its_level_and_its_floor(viewer: TestClient) -> None:
    shown = items(viewer, "branches")
    assert [branch["address"] for branch in shown] == [f"house-1/carrier/1/branch/{label}" for label in "ab"]
    assert all({"rf_dbm", "floor_dbm", "floor_age_s", "floor_method"} <= branch["readings"].keys() for branch in shown)
    (carrier,) = items(viewer, "carriers")
    assert carrier["readings"].keys() == {"link_quality", "foreign"}


def test_lists_come_by_page(viewer: TestClient) -> None:
    first = viewer.get("/api/v1/devices?limit=1").json()
    assert ([one["device_id"] for one in first["items"]], first["next"]) == (["house-1"], "house-1")
    second = viewer.get("/api/v1/devices", params={"limit": 1, "cursor": first["next"]}).json()
    assert ([one["device_id"] for one in second["items"]], second["next"]) == (["quay-1"], None)


def test_commands_are_listed_newest_first_by_page(stage: Stage, viewer: TestClient) -> None:
    for number in range(3):
        write(stage, f"c{number}", (80, 100, 120)[number])
    first = viewer.get("/api/v1/commands?limit=2").json()
    assert ([one["command_id"] for one in first["items"]], first["next"]) == (["c2", "c1"], "c1")
    rest = viewer.get("/api/v1/commands?limit=2&cursor=c1").json()
    assert ([one["command_id"] for one in rest["items"]], rest["next"]) == (["c0"], None)


def test_an_old_command_is_found_in_the_journal(stage: Stage, viewer: TestClient) -> None:
    write(stage, "old", 120)
    stage.console.known_commands.clear()
    assert viewer.get("/api/v1/commands/old").json()["command_id"] == "old"
    assert viewer.get("/api/v1/commands/older").status_code == 404


def test_a_command_is_cancelled_and_closed_by_name(stage: Stage) -> None:
    write(stage, "one", 120)
    answer = stage.client(Role.OPERATOR).post("/api/v1/commands/one/cancel")
    assert (answer.status_code, answer.json()["state"]) == (200, "cancelled")
    write(stage, "two", 100)
    closed = stage.client(Role.ENGINEER).post("/api/v1/commands/two/close", json={"reason": "The pack went overboard."})
    assert closed.status_code == 200


@pytest.mark.parametrize("reason", ["", "x" * 201, "two\nlines", "\u202egnol", "bell\x07", None, 1])
def test_a_reason_is_one_printable_line(stage: Stage, reason: object) -> None:
    write(stage, "one", 120)
    answer = stage.client(Role.ENGINEER).post("/api/v1/commands/one/close", json={"reason": reason})
    assert answer.status_code == 422
    assert stage.console.known_commands["one"].state.value == "sent"


def test_alarms_are_acknowledged_all_or_none(stage: Stage) -> None:
    operator = stage.client(Role.OPERATOR)
    (alarm,) = items(operator, "alarms")
    refused = operator.post("/api/v1/alarms/acknowledge", json={"alarm_ids": [alarm["alarm_id"], "moon"]})
    assert refused.status_code == 404
    assert items(operator, "alarms")[0]["state"] == "unacknowledged"
    done = operator.post("/api/v1/alarms/acknowledge", json={"alarm_ids": [alarm["alarm_id"], alarm["alarm_id"]]})
    assert [one["acknowledged_by"] for one in done.json()["items"]] == ["Stage Left"]


def test_an_alarm_that_is_normal_once_acknowledged_is_answered_all_the_same(stage: Stage) -> None:
    """An alarm that had returned is gone from the list when it is acknowledged; the answer still tells of it."""
    stage.console.forgets_acknowledged = True
    answer = stage.client(Role.OPERATOR).post(
        "/api/v1/alarms/acknowledge", json={"alarm_ids": ["weak-rf:house-1/carrier/1"]}
    )
    assert [one["acknowledged_by"] for one in answer.json()["items"]] == ["Stage Left"]


def test_matters_come_in_their_own_order(viewer: TestClient) -> None:
    assert [one["cause"] for one in items(viewer, "matters")] == ["weak-rf"]


def test_the_journal_is_read_by_sequence(stage: Stage, viewer: TestClient) -> None:
    for number in range(3):
        write(stage, f"c{number}", (80, 100, 120)[number])
    first = viewer.get("/api/v1/journal?limit=2").json()
    assert [one["sequence"] for one in first["items"]] == [1, 2]
    assert first["items"][0]["kind"] == "console started"
    rest = viewer.get(f"/api/v1/journal?since={first['next']}&kind=command changed").json()
    assert ([one["sequence"] for one in rest["items"]], rest["next"]) == ([3, 4], None)
    viewer.get("/api/v1/journal?address=house-1/carrier/1")
    assert stage.console.reader.asked_address == "house-1/carrier/1"


def test_the_production_comes_with_its_revision(viewer: TestClient) -> None:
    answer = viewer.get("/api/v1/production")
    assert answer.headers["ETag"] == '"3"'
    assert answer.json()["positions"][0]["part"] == "Keeper"


def test_a_rule_is_changed_against_the_revision_that_was_seen(stage: Stage, engineer: TestClient) -> None:
    listed = engineer.get("/api/v1/rules")
    tag = listed.headers["ETag"]
    changed = engineer.patch("/api/v1/rules/weak-rf", json={"limit": 12.0}, headers={"If-Match": tag})
    assert (changed.status_code, changed.json()["limit"]) == (200, 12.0)
    assert (changed.json()["deadband"], changed.headers["ETag"]) == (5.0, '"1"')
    stale = engineer.patch("/api/v1/rules/weak-rf", json={"limit": 9.0}, headers={"If-Match": tag})
    assert (stale.status_code, stale.json()["current"]["revision"]) == (412, "1")
    assert stage.console.rule_set[0].limit == 12.0
    assert stage.console.rule_changed_by == "Stage Left"


@pytest.mark.parametrize(
    "body",
    [{}, {"limit": "12"}, {"limit": None}, {"priority": 0}, {"priority": True}, {"on_delay_s": -1}, {"measure": "x"}],
)
def test_a_rule_takes_only_numbers_that_make_sense(engineer: TestClient, body: object) -> None:
    answer = engineer.patch("/api/v1/rules/weak-rf", json=body, headers={"If-Match": '"0"'})
    assert (answer.status_code, answer.json()["code"]) == (422, "invalid-request")


def test_an_unknown_rule_is_404(engineer: TestClient) -> None:
    assert engineer.patch("/api/v1/rules/moon", json={"limit": 1.0}, headers={"If-Match": '"0"'}).status_code == 404


@pytest.fixture
def built(tmp_path: Path) -> TestClient:
    (tmp_path / "docs").mkdir()
    (tmp_path / "index.html").write_text("<title>Redpoll</title>")
    (tmp_path / "docs" / "index.html").write_text("<title>The API</title>")
    (tmp_path / "main.js").write_text("1;")
    (tmp_path.parent / "secret.txt").write_text("canary")
    return make_stage(tmp_path).client()


def test_the_screen_and_the_api_s_page_are_served(built: TestClient) -> None:
    assert built.get("/").text == "<title>Redpoll</title>"
    assert built.get("/api/docs").text == "<title>The API</title>"
    script = built.get("/ui/main.js")
    assert script.headers["Content-Type"].startswith("text/javascript")


@pytest.mark.parametrize(
    "path",
    [
        "../secret.txt",
        "%2e%2e/secret.txt",
        "..%2fsecret.txt",
        "/etc/passwd",
        "%00",
        "a%00b",
        "docs/..%2f..%2fsecret.txt",
    ],
)
def test_nothing_outside_the_screen_s_folder_is_served(built: TestClient, path: str) -> None:
    answer = built.get(f"/ui/{path}")
    assert answer.status_code == 404
    assert "canary" not in answer.text


@pytest.mark.parametrize("path", ["/", "/api/docs", "/ui/main.js"])
def test_a_screen_that_was_not_built_says_how(stage: Stage, path: str) -> None:
    answer = stage.client().get(path)
    assert answer.status_code == 503
    assert "./dev build" in answer.text


def test_a_device_s_own_words_can_t_break_a_header(
    stage: Stage, viewer: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hostile device chooses its boot id; it becomes part of an entity tag."""
    view = replace(stage.console.settings("pack/k01"), revision='b"1\r\nSet-Cookie: x=1\u2603.7')
    monkeypatch.setattr(stage.console, "settings", lambda _: view)
    answer = viewer.get(SETTINGS)
    assert answer.status_code == 200
    assert answer.headers["ETag"] == '"b%221%0D%0ASet-Cookie:%20x%3D1%E2%98%83.7"'
    assert "Set-Cookie" not in answer.headers
