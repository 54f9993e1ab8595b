"""Plans on the air over the API: what is asked reaches the console as it was meant, and errors have their codes."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from api.roles import Role
from fleet.errors import InvalidRequest, NotFound, RevisionStale, ValueRefused
from fleet.model.retune import RetuneAsk, RetuneWanted
from tests.api.conftest import Stage

APPLY = "/api/v1/plans/tonight/apply"
RUN = "/api/v1/retunes/r64"


def test_a_preview_sends_nothing_and_an_apply_names_the_revision_that_was_seen(
    stage: Stage, engineer: TestClient
) -> None:
    shown = engineer.post("/api/v1/plans/tonight/preview", json={"channels": ["house-1/channel/1"]})
    assert (shown.status_code, shown.json()["already"]) == (200, 3)
    begun = engineer.post(APPLY, json={"plan_revision": 4, "may_sleep": True, "only_what_can": True})
    assert (begun.status_code, begun.headers["Location"]) == (202, RUN)
    assert begun.json()["state"] == "running"
    assert stage.console.retuner.asked == [
        ("preview", RetuneAsk("tonight", channels=frozenset({"house-1/channel/1"}))),
        ("apply", "Stage Left", RetuneAsk("tonight", 4, may_sleep=True, only_what_can=True)),
    ]


def test_the_guided_change_is_begun_answered_cancelled_and_taken_back(stage: Stage, engineer: TestClient) -> None:
    wanted = {"plan": "tonight", "channel": "house-1/channel/1", "frequency_hz": 521_300_000}
    begun = engineer.post("/api/v1/retunes", json=wanted)
    assert (begun.status_code, begun.json()["guided"]) == (202, True)
    assert engineer.post(f"{RUN}/answer", json={"prompt": "off-mic", "answer": "yes"}).status_code == 200
    assert engineer.post(f"{RUN}/cancel").status_code == 200
    assert engineer.post(f"{RUN}/roll-back").json()["state"] == "rolling back"
    assert stage.console.retuner.asked == [
        ("guide", "Stage Left", RetuneWanted("tonight", "house-1/channel/1", 521_300_000)),
        ("answer", "r64", "off-mic", "yes"),
        ("cancel", "r64"),
        ("roll-back", "Stage Left", "r64"),
    ]


def test_runs_are_listed_and_shown_to_everybody_who_may_look(viewer: TestClient) -> None:
    first = viewer.get("/api/v1/retunes", params={"limit": 1}).json()
    assert ([each["run_id"] for each in first["items"]], first["next"]) == (["r64"], "r64")
    rest = viewer.get("/api/v1/retunes", params={"cursor": first["next"]}).json()
    assert ([each["run_id"] for each in rest["items"]], rest["next"]) == (["r63"], None)
    assert viewer.get(RUN).json()["reason"] == "step 1: refused"
    assert viewer.get("/api/v1/retunes/r65").status_code == 404


@pytest.mark.parametrize(
    ("error", "status", "code"),
    [
        (InvalidRequest("the show is live"), 409, "not-possible-now"),
        (RevisionStale("plan/tonight", "3", "4", {}), 412, "stale-revision"),
        (NotFound("plan", "tonight"), 404, "not-found"),
        (ValueRefused("house-1/channel/1", "frequency_hz", "is no verified spare", {}), 422, "value-refused"),
    ],
)
def test_what_can_t_be_done_is_refused_by_its_code(stage: Stage, error: Exception, status: int, code: str) -> None:
    stage.console.retuner.fails_with = error  # type: ignore[assignment]  # Every case is one of ours.
    answer = stage.client(Role.ENGINEER).post(APPLY, json={"plan_revision": 4})
    assert (answer.status_code, answer.json()["code"]) == (status, code)


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"plan_revision": "4"},
        {"plan_revision": 0},
        {"plan_revision": 4, "channels": []},
        {"plan_revision": 4, "force": True},
        {"plan_revision": 4, "may_sleep": None},
    ],
)
def test_a_body_of_the_wrong_shape_reaches_nothing(stage: Stage, engineer: TestClient, body: dict[str, object]) -> None:
    assert engineer.post(APPLY, json=body).status_code == 422
    assert stage.console.retuner.asked == []
