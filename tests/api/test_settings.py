"""Settings by merge patch against the revision that was seen."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from api.body import merge_patch_of
from api.problems import RequestRefused
from api.roles import Role
from tests.api.conftest import Stage, make_stage
from tests.api.fake_facts import PACK

PATH = "/api/v1/packs/k01/settings"
MERGE_PATCH = "application/merge-patch+json"


def patch(client: TestClient, body: Any, tag: str | None = '"b1.1"', **headers: str) -> Any:
    sent = {"Content-Type": MERGE_PATCH, **headers}
    if tag is not None:
        sent["If-Match"] = tag
    return client.patch(PATH, content=json.dumps(body), headers=sent)


def test_settings_are_read_with_their_revision_as_entity_tag(viewer: TestClient) -> None:
    answer = viewer.get(PATH)
    assert answer.status_code == 200
    assert answer.headers["etag"] == '"b1.1"'
    assert answer.json()["reported"]["low_cut_hz"] == 80
    assert answer.json()["revision"] == "b1.1"


def test_a_write_is_taken_as_a_command_that_lives_on(engineer: TestClient) -> None:
    answer = patch(engineer, {"low_cut_hz": 120})
    assert answer.status_code == 202
    command = answer.json()
    assert command["changes"] == {"low_cut_hz": 120}
    assert command["requested_by"] == "Stage Left"
    assert engineer.get(answer.headers["location"]).json() == command


def test_plain_json_is_taken_too(engineer: TestClient) -> None:
    answer = engineer.patch(PATH, json={"low_cut_hz": 120}, headers={"If-Match": '"b1.1"'})
    assert answer.status_code == 202


@pytest.mark.parametrize("tag", [None, "*", " * "])
def test_a_write_that_names_no_revision_is_428(engineer: TestClient, stage: Stage, tag: str | None) -> None:
    answer = patch(engineer, {"low_cut_hz": 120}, tag)
    assert (answer.status_code, answer.json()["code"]) == (428, "revision-missing")
    assert stage.console.known_commands == {}


@pytest.mark.parametrize("tag", ["b1.1", 'W/"b1.1"', '"b1.1", "b1.2"', '"', ""])
def test_a_tag_that_is_not_one_strong_tag_is_400(engineer: TestClient, tag: str) -> None:
    answer = patch(engineer, {"low_cut_hz": 120}, tag)
    assert (answer.status_code, answer.json()["code"]) == (400, "bad-header")


def test_a_stale_write_is_412_with_what_stands(engineer: TestClient, stage: Stage) -> None:
    assert patch(engineer, {"low_cut_hz": 120}).status_code == 202
    answer = patch(engineer, {"low_cut_hz": 100})
    assert answer.status_code == 412
    assert answer.json()["current"]["revision"] == "b1.2"
    assert answer.json()["current"]["values"]["low_cut_hz"] == 120
    assert len(stage.console.known_commands) == 1


def test_a_value_off_its_list_is_422_with_what_is_allowed(engineer: TestClient, stage: Stage) -> None:
    answer = patch(engineer, {"low_cut_hz": 90})
    assert (answer.status_code, answer.json()["code"]) == (422, "value-refused")
    assert answer.json()["allowed"]["enum"] == [0, 80, 100, 120]
    assert answer.json()["field"] == "low_cut_hz"
    assert stage.console.known_commands == {}


def test_an_unknown_setting_is_refused_and_not_repeated(engineer: TestClient) -> None:
    answer = patch(engineer, {"lamp_oil": 1})
    assert (answer.status_code, answer.json()["code"]) == (422, "value-refused")
    assert "lamp_oil" not in answer.text


@pytest.mark.parametrize("body", [{"low_cut_hz": None}, {"low_cut_hz": [80]}, {"low_cut_hz": {}}, {}, [], "x", 1, None])
def test_what_is_no_patch_of_settings_is_422(engineer: TestClient, stage: Stage, body: object) -> None:
    answer = patch(engineer, body)
    assert (answer.status_code, answer.json()["code"]) == (422, "invalid-request")
    assert stage.console.revision == 1


def test_a_repeat_with_the_same_id_has_no_second_effect(engineer: TestClient, stage: Stage) -> None:
    first = patch(engineer, {"low_cut_hz": 120}, **{"Command-Id": "lamp-1"})
    again = patch(engineer, {"low_cut_hz": 120}, **{"Command-Id": "lamp-1"})
    assert (first.status_code, again.status_code) == (202, 202)
    assert first.json() == again.json()
    assert stage.console.revision == 2


def test_another_write_under_a_used_id_is_409(engineer: TestClient, stage: Stage) -> None:
    patch(engineer, {"low_cut_hz": 120}, **{"Command-Id": "lamp-1"})
    answer = patch(engineer, {"low_cut_hz": 100}, '"b1.2"', **{"Command-Id": "lamp-1"})
    assert (answer.status_code, answer.json()["code"]) == (409, "command-id-reused")
    assert stage.console.values["low_cut_hz"] == 120


@pytest.mark.parametrize("command_id", ["a b", "a.b", "", "a" * 65])
def test_a_command_id_that_no_device_would_take_is_400(engineer: TestClient, command_id: str) -> None:
    answer = patch(engineer, {"low_cut_hz": 120}, **{"Command-Id": command_id})
    assert (answer.status_code, answer.json()["code"]) == (400, "bad-header")


def test_frequency_power_and_sleep_need_the_engineer(stage: Stage) -> None:
    operator = stage.client(Role.OPERATOR)
    answer = patch(operator, {"frequency_hz": 470_200_000})
    assert (answer.status_code, answer.json()["needed_role"]) == (403, "engineer")
    assert patch(operator, {"low_cut_hz": 120}).status_code == 202
    assert patch(stage.client(Role.ENGINEER), {"frequency_hz": 470_200_000}, '"b1.2"').status_code == 202


def test_a_viewer_may_not_write(viewer: TestClient, stage: Stage) -> None:
    assert patch(viewer, {"low_cut_hz": 120}).status_code == 403
    assert stage.console.revision == 1


def test_an_unknown_thing_is_404_whatever_the_tag(engineer: TestClient) -> None:
    answer = engineer.patch("/api/v1/packs/k99/settings", json={"low_cut_hz": 120}, headers={"If-Match": '"b1.1"'})
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


def merge_patch(target: object, change: object) -> object:
    """RFC 7396, section 2, as its pseudo-code has it."""
    if not isinstance(change, dict):
        return change
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in change.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merge_patch(result.get(name), value)
    return result


# RFC 7396, appendix A: original, patch, result. Where the patch replaces or adds plain members our resource follows it;
# where it removes a member, or replaces by a list, an object or a bare value, settings can't follow and refuse it.
APPENDIX_A_FOLLOWED = [
    ({"a": "b"}, {"a": "c"}, {"a": "c"}),
    ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
    ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
]
APPENDIX_A_REFUSED = [
    {"a": None},
    {"a": None, "b": "c"},
    {"a": ["b"]},
    {"a": {"b": "d", "c": None}},
    {"a": [1]},
    ["c"],
    {"a": {"bb": {"ccc": None}}},
    None,
    "bar",
]


@pytest.mark.parametrize(("original", "change", "result"), APPENDIX_A_FOLLOWED)
def test_the_rfc_s_own_cases_that_fit_settings(
    original: dict[str, object], change: dict[str, object], result: dict[str, object]
) -> None:
    assert {**original, **merge_patch_of(change)} == result
    assert merge_patch(original, change) == result


@pytest.mark.parametrize("change", APPENDIX_A_REFUSED)
def test_the_rfc_s_other_cases_are_refused_whole(change: object) -> None:
    with pytest.raises(RequestRefused):
        merge_patch_of(change)


allowed = st.fixed_dictionaries(
    {},
    optional={
        "low_cut_hz": st.sampled_from([0, 80, 100, 120]),
        "input_trim_db": st.integers(-12, 30),
        "muted": st.booleans(),
    },
).filter(bool)


@given(changes=st.lists(st.tuples(allowed, st.booleans()), min_size=1, max_size=6))
@hypothesis_settings(max_examples=25, deadline=None)
def test_writes_apply_exactly_when_they_saw_the_current_revision(changes: list[tuple[dict[str, Any], bool]]) -> None:
    stage = make_stage()
    client = stage.client(Role.ENGINEER)
    expected: object = dict(stage.console.values)
    revision = 1
    for change, fresh in changes:
        answer = patch(client, change, f'"b1.{revision if fresh else revision - 1}"')
        assert answer.status_code == (202 if fresh else 412)
        if fresh:
            expected = merge_patch(expected, change)
            revision += 1
        read = client.get(PATH)
        assert read.json()["reported"] == expected
        assert read.headers["etag"] == f'"b1.{revision}"'
        assert read.json()["address"] == PACK
