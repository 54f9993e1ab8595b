"""Launch links work once and lapse; sessions are bounded, lapse, and end."""

from __future__ import annotations

import logging

import pytest

from api.answers import PersonView
from api.roles import Role, roles_up_to
from api.security import (
    LAUNCH_LASTS_S,
    LAUNCHES_MAXIMUM,
    SESSION_LASTS_S,
    SESSIONS_MAXIMUM,
    Launches,
    Sessions,
    random_secret,
)
from fleet.clock import ManualClock
from fleet.errors import LimitReached
from tests.api.conftest import COOKIE, Stage
from tests.virtual_time import run_virtual

PERSON = PersonView("Stage Left", roles_up_to(Role.ENGINEER))
LAUNCH = "/api/v1/session/launch"


def test_a_launch_link_opens_one_session_once(stage: Stage) -> None:
    token = stage.desk.launches.issue(PERSON)
    client = stage.client()
    answer = client.post(LAUNCH, json={"token": token})
    assert answer.status_code == 200
    assert answer.json()["person"] == {"name": "Stage Left", "roles": ["viewer", "operator", "engineer"]}
    assert client.get("/api/v1/devices").status_code == 200
    again = stage.client().post(LAUNCH, json={"token": token})
    assert (again.status_code, again.json()["code"]) == (401, "launch-refused")


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(stage: Stage) -> None:
    answer = stage.client().post(LAUNCH, json={"token": stage.desk.launches.issue(PERSON)})
    parts = {part.strip().split("=")[0].lower(): part for part in answer.headers["Set-Cookie"].split(";")}
    assert parts.keys() == {COOKIE, "httponly", "max-age", "path", "samesite"}
    assert parts["samesite"].strip().lower() == "samesite=strict"
    assert parts["path"].strip() == "Path=/"


def test_a_link_lapses_after_five_minutes() -> None:
    clock = ManualClock()
    launches = Launches(clock)
    early, late = launches.issue(PERSON), launches.issue(PERSON)
    run_virtual(clock.advance(LAUNCH_LASTS_S - 1.0))
    assert launches.redeem(early) == PERSON
    run_virtual(clock.advance(1.0))
    assert launches.redeem(late) is None


@pytest.mark.parametrize("token", ["x", "", "é", "\ud800"])
def test_what_is_no_token_opens_nothing(token: str) -> None:
    launches = Launches(ManualClock())
    launches.issue(PERSON)
    assert launches.redeem(token) is None


def test_unused_links_are_bounded_and_make_room_as_they_lapse() -> None:
    clock = ManualClock()
    launches = Launches(clock)
    for _ in range(LAUNCHES_MAXIMUM):
        launches.issue(PERSON)
    with pytest.raises(LimitReached):
        launches.issue(PERSON)
    run_virtual(clock.advance(LAUNCH_LASTS_S))
    assert launches.issue(PERSON)


def test_secrets_hold_256_bits_and_differ() -> None:
    made = {random_secret() for _ in range(100)}
    assert len(made) == 100
    assert min(len(secret) for secret in made) >= 43


def test_a_session_lapses_and_is_told() -> None:
    clock = ManualClock()
    sessions = Sessions(clock)
    secret, session = sessions.open(PERSON)
    run_virtual(clock.advance(SESSION_LASTS_S - 1.0))
    assert sessions.find(secret) is session
    run_virtual(clock.advance(1.0))
    assert sessions.find(secret) is None
    assert session.ended.is_set()


def test_at_the_bound_the_oldest_session_ends() -> None:
    sessions = Sessions(ManualClock())
    people = (PersonView(f"Stage {number}", roles_up_to(Role.VIEWER)) for number in range(SESSIONS_MAXIMUM + 1))
    opened = [sessions.open(person) for person in people]
    assert opened[0][1].ended.is_set()
    assert sessions.find(opened[0][0]) is None
    assert all(sessions.find(secret) is session for secret, session in opened[1:])


def test_leaving_ends_the_session_and_takes_the_cookie_away(stage: Stage) -> None:
    client = stage.client(Role.VIEWER)
    answer = client.delete("/api/v1/session")
    assert answer.status_code == 204
    assert "Max-Age=0" in answer.headers["Set-Cookie"]
    assert client.get("/api/v1/devices").status_code == 401


def test_no_secret_is_logged_or_repeated(stage: Stage, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    token = stage.desk.launches.issue(PERSON)
    client = stage.client()
    answer = client.post(LAUNCH, json={"token": token})
    secret = answer.cookies[COOKIE]
    client.get("/api/v1/session")
    refused = client.post(LAUNCH, json={"token": token})
    broken = client.post(LAUNCH, json={"token": token, "lantern": token})
    assert client.get(f"/api/v1/{token}").status_code == 404
    for text in (answer.text, refused.text, broken.text):
        assert token not in text
        assert secret not in text
    ours = [record.getMessage() for record in caplog.records if record.name.startswith("redpoll")]
    assert ours
    assert not any(secret in message for message in ours)
    assert sum(token in message for message in ours) == 1, "only where somebody put it into a path"
