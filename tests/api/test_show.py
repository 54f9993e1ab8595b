"""The show clock over the API: by hand with the place that was seen, by trigger with an id."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from api.roles import Role
from fleet.model.show import ShowStep
from tests.api.conftest import Stage

AT = "/api/v1/show"


@pytest.fixture
def operator(stage: Stage) -> TestClient:
    return stage.client(Role.OPERATOR)


def test_what_lies_ahead_comes_with_the_place_s_revision(viewer: TestClient) -> None:
    answer = viewer.get(AT)
    assert answer.headers["ETag"] == '"0"'
    assert (answer.json()["show"]["phase"], answer.json()["cues"]) == ("before", [])


def test_a_step_by_hand_names_the_place_that_was_seen(stage: Stage, operator: TestClient) -> None:
    answer = operator.post(f"{AT}/step", json={"step": "advance"}, headers={"If-Match": '"0"'})
    assert (answer.status_code, answer.headers["ETag"]) == (200, '"1"')
    (asked,) = stage.console.asked_moves
    assert (asked.by, asked.step, asked.cue_id, asked.seen_revision) == ("Stage Left", ShowStep.ADVANCE, None, 0)
    assert (asked.at, asked.trigger_id) == (stage.console.now(), "")
    assert operator.post(f"{AT}/step", json={"step": "back"}).status_code == 428
    assert operator.post(f"{AT}/step", json={"step": "back"}, headers={"If-Match": '"x"'}).status_code == 412
    assert len(stage.console.asked_moves) == 1


def test_a_trigger_has_an_id_and_sees_no_place(stage: Stage, operator: TestClient) -> None:
    body = {"step": "jump", "cue_id": "storm", "trigger_id": "desk-17"}
    assert operator.post(f"{AT}/trigger", json=body).status_code == 200
    (asked,) = stage.console.asked_moves
    assert (asked.step, asked.cue_id, asked.seen_revision) == (ShowStep.JUMP, "storm", None)
    assert asked.trigger_id == "desk-17"


@pytest.mark.parametrize(
    "body",
    [
        {"step": "advance"},
        {"step": "leap", "trigger_id": "t"},
        {"step": "advance", "trigger_id": "has spaces"},
        {"step": "jump", "trigger_id": "t", "cue_id": "Not An Id"},
        {"step": "advance", "trigger_id": "t", "loud": True},
    ],
)
def test_a_trigger_of_the_wrong_shape_moves_nothing(
    stage: Stage, operator: TestClient, body: dict[str, object]
) -> None:
    assert operator.post(f"{AT}/trigger", json=body).status_code == 422
    assert stage.console.asked_moves == []


def test_a_viewer_moves_nothing(stage: Stage, viewer: TestClient) -> None:
    assert viewer.post(f"{AT}/step", json={"step": "advance"}, headers={"If-Match": '"0"'}).status_code == 403
    assert viewer.post(f"{AT}/trigger", json={"step": "advance", "trigger_id": "t"}).status_code == 403
    assert stage.console.asked_moves == []
