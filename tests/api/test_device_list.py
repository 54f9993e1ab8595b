"""The list of devices over the API: what stands, edits with revisions, export and import, looking, and tokens."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.conftest import Stage

LIST = "/api/v1/device-list"
DEVICES = f"{LIST}/devices"
TOKENS = "/api/v1/device-tokens"
QUAY_2 = {"device_id": "quay-2", "url": "ws://127.0.0.1:20003"}
PASSPHRASE = "lamplight-over-tern-rock"


def tag(client: TestClient) -> dict[str, str]:
    return {"If-Match": client.get(LIST).headers["etag"]}


def test_the_list_shows_where_each_device_was_given(viewer: TestClient) -> None:
    answer = viewer.get(LIST)
    assert answer.headers["etag"] == '"1"'
    shown = {entry["device_id"]: entry["given"] for entry in answer.json()["items"]}
    assert shown == {"house-1": "start-up", "quay-1": "list"}


def test_a_device_is_added_changed_and_removed_each_against_a_revision(engineer: TestClient) -> None:
    added = engineer.post(DEVICES, json=QUAY_2, headers=tag(engineer))
    assert (added.status_code, added.headers["etag"]) == (201, '"2"')
    assert added.json()["expects"] == "either"
    changed = engineer.patch(f"{DEVICES}/quay-2", json={"enabled": False, "expects": "real"}, headers=tag(engineer))
    assert (changed.json()["enabled"], changed.json()["expects"]) == (False, "real")
    gone = engineer.delete(f"{DEVICES}/quay-2", headers=tag(engineer))
    assert (gone.status_code, gone.headers["etag"]) == (204, '"4"')
    kept = engineer.get(f"{LIST}/revisions").json()["items"]
    assert [each["devices"] for each in kept] == [1, 2, 2, 1]


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("PUT", LIST, {"devices": []}),
        ("POST", DEVICES, QUAY_2),
        ("PATCH", f"{DEVICES}/quay-1", {"enabled": False}),
        ("DELETE", f"{DEVICES}/quay-1", None),
        ("POST", f"{DEVICES}/quay-1/move", {"url": "ws://127.0.0.1:20009"}),
    ],
)
def test_no_edit_goes_without_the_revision_it_saw(
    engineer: TestClient, method: str, path: str, body: dict[str, Any] | None
) -> None:
    assert engineer.request(method, path, json=body).status_code == 428
    stale = engineer.request(method, path, json=body, headers={"If-Match": '"0"'})
    assert (stale.status_code, stale.json()["current"]["revision"]) == (412, "1")
    assert engineer.get(LIST).headers["etag"] == '"1"'


@pytest.mark.parametrize("form", ["json", "toml"])
def test_what_is_exported_goes_in_again(engineer: TestClient, form: str) -> None:
    before = engineer.get(f"{LIST}/document", params={"form": form})
    kind = before.headers["content-type"].split(";")[0]
    put = engineer.put(LIST, content=before.content, headers={**tag(engineer), "Content-Type": kind})
    assert put.status_code == 200
    assert engineer.get(f"{LIST}/document", params={"form": form}).content == before.content
    assert engineer.get(f"{LIST}/document", params={"revision": 9}).status_code == 404
    if form == "toml":
        assert tomllib.loads(before.text)["device"][0]["id"] == "quay-1"


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b'[[device]]\nid = "quay-3"\n', 422),
        (b"\xff\xfe", 400),
        (b'[[device]]\nid = "quay-3"\nurl = "ws://169.254.169.254:20001"\n', 422),
        (
            b'[[device]]\nid = "q"\nurl = "ws://127.0.0.1:20001"\n[[device]]\nid = "q"\nurl = "ws://127.0.0.1:2000"\n',
            422,
        ),
    ],
)
def test_a_wrong_import_changes_nothing(engineer: TestClient, body: bytes, status: int) -> None:
    answer = engineer.put(LIST, content=body, headers={**tag(engineer), "Content-Type": "application/toml"})
    assert answer.status_code == status
    assert engineer.get(LIST).headers["etag"] == '"1"'


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"url": "ws://192.0.2.1:20001"}, "allowed networks"),
        ({"url": "ws://127.0.0.1:22"}, "allowed ports"),
        ({"token": "No Name"}, "name of a token"),
        ({"device_id": "quay-1", "url": "ws://127.0.0.1:20003"}, "twice"),
    ],
)
def test_what_can_not_be_called_is_refused_in_words(engineer: TestClient, change: dict[str, str], reason: str) -> None:
    answer = engineer.post(DEVICES, json={**QUAY_2, **change}, headers=tag(engineer))
    assert (answer.status_code, answer.json()["code"]) == (422, "value-refused")
    assert reason in answer.json()["detail"]


def test_somebody_may_look_before_adding(stage: Stage, engineer: TestClient) -> None:
    looked = engineer.post(f"{LIST}/look", json={"url": "ws://127.0.0.1:20009"}).json()
    assert looked["reached"]
    assert (looked["devices"][0]["device_id"], looked["devices"][0]["simulated"]) == ("quay-9", True)
    assert stage.console.roster.looked_at == [("ws://127.0.0.1:20009", "")]
    assert len(engineer.get(LIST).json()["items"]) == 2


def test_what_announces_itself_is_shown_and_not_added(viewer: TestClient) -> None:
    found = viewer.get("/api/v1/discovered").json()
    assert [each["standing"] for each in found["devices"]] == ["new"]
    assert "quay-9" not in str(viewer.get(LIST).json())


def test_tokens_go_in_and_never_come_out(stage: Stage, engineer: TestClient) -> None:
    put = engineer.put(f"{TOKENS}/quay", json={"token": PASSPHRASE})
    assert (put.status_code, put.content) == (204, b"")
    assert stage.console.roster.tokens().kept == {"quay": PASSPHRASE}
    assert engineer.get(TOKENS).json() == {"names": ["quay"]}
    bad = engineer.put(f"{TOKENS}/quay", json={"token": f"{PASSPHRASE} with spaces"})
    assert bad.status_code == 422
    assert PASSPHRASE not in bad.text
    assert engineer.delete(f"{TOKENS}/quay").status_code == 204
    assert engineer.delete(f"{TOKENS}/quay").status_code == 404


def test_where_no_token_can_be_kept_that_is_said(stage: Stage, engineer: TestClient) -> None:
    stage.console.roster.tokens().broken = True
    assert engineer.put(f"{TOKENS}/quay", json={"token": PASSPHRASE}).status_code == 503
    stage.console.roster.fake_tokens = None
    assert engineer.get(TOKENS).status_code == 422


def test_a_viewer_may_look_at_the_list_and_change_nothing(viewer: TestClient) -> None:
    for method, path in (("PUT", LIST), ("POST", DEVICES), ("POST", f"{LIST}/look"), ("GET", TOKENS)):
        assert viewer.request(method, path, json={}).status_code == 403
