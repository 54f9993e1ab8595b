"""Every route and the WebSocket name a role, and hold to it."""

from __future__ import annotations

import inspect

import pytest
from fastapi import APIRouter
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute, APIWebSocketRoute
from starlette.routing import Mount, Route

from api.roles import Needs, Role, RoleUndeclared, needs, role_table, roles_up_to
from tests.api.conftest import COOKIE, Stage, make_stage

LADDER = (Role.VIEWER, Role.OPERATOR, Role.ENGINEER)
EVERYONES = {
    ("GET", "/"),
    ("GET", "/api/docs"),
    ("GET", "/api/v1/openapi.json"),
    ("GET", "/api/v1/problems/{code}"),
    ("GET", "/healthz"),
    ("GET", "/metrics"),
    ("GET", "/ui/{path:path}"),
    ("POST", "/api/v1/session/launch"),
    ("POST", "/api/v1/session/login"),
}
ENGINEERS = {
    ("DELETE", "/api/v1/production/{kind}/{key}"),
    ("PATCH", "/api/v1/production"),
    ("PATCH", "/api/v1/production/{kind}/{key}"),
    ("POST", "/api/v1/production/revisions/{revision}/revert"),
    ("PUT", "/api/v1/production"),
    ("PUT", "/api/v1/production/{kind}/{key}"),
    ("PATCH", "/api/v1/rules/{rule_id}"),
    ("POST", "/api/v1/commands/{command_id}/close"),
    ("POST", "/api/v1/devices/{device_id}/retry"),
    ("PUT", "/api/v1/device-list"),
    ("POST", "/api/v1/device-list/devices"),
    ("PATCH", "/api/v1/device-list/devices/{device_id}"),
    ("DELETE", "/api/v1/device-list/devices/{device_id}"),
    ("POST", "/api/v1/device-list/devices/{device_id}/move"),
    ("POST", "/api/v1/device-list/look"),
    ("GET", "/api/v1/device-tokens"),
    ("PUT", "/api/v1/device-tokens/{name}"),
    ("DELETE", "/api/v1/device-tokens/{name}"),
    ("POST", "/api/v1/devices/{device_id}/unlock"),
    ("POST", "/api/v1/devices/{device_id}/lock"),
    ("POST", "/api/v1/devices/{device_id}/lease"),
    ("POST", "/api/v1/devices/{device_id}/acts/{act}"),
    ("POST", "/api/v1/devices/{device_id}/carriers/{carrier}/acts/{act}"),
    ("POST", "/api/v1/devices/{device_id}/carriers/{carrier}/branches/{branch}/acts/{act}"),
    ("POST", "/api/v1/devices/{device_id}/channels/{channel}/acts/{act}"),
    ("POST", "/api/v1/devices/{device_id}/outputs/{output}/acts/{act}"),
    ("POST", "/api/v1/devices/{device_id}/inputs/{socket}/acts/{act}"),
    ("POST", "/api/v1/devices/{device_id}/bays/{bay}/acts/{act}"),
    ("POST", "/api/v1/packs/{pack}/acts/{act}"),
    ("GET", "/api/v1/people"),
    ("PUT", "/api/v1/plans/{name}"),
    ("POST", "/api/v1/plans/{name}/find"),
    ("POST", "/api/v1/plans/{name}/spares/look"),
    ("POST", "/api/v1/plans/{name}/preview"),
    ("POST", "/api/v1/plans/{name}/apply"),
    ("POST", "/api/v1/surveys"),
    ("POST", "/api/v1/retunes"),
    ("POST", "/api/v1/retunes/{run_id}/answer"),
    ("POST", "/api/v1/retunes/{run_id}/cancel"),
    ("POST", "/api/v1/retunes/{run_id}/roll-back"),
    ("DELETE", "/api/v1/jobs/{job_id}"),
    ("POST", "/api/v1/people"),
    ("POST", "/api/v1/people/disable"),
    ("POST", "/api/v1/people/enable"),
    ("POST", "/api/v1/people/password"),
    ("POST", "/api/v1/people/roles"),
}
ABOUT_ONESELF = {("POST", "/api/v1/session/password"), ("POST", "/api/v1/tokens")}
"""What a viewer may change beside looking: only what is their own."""
ONLY_LOOKS = {("POST", "/api/v1/plans/{name}/check"), ("POST", "/api/v1/plans/{name}/what-if")}
"""What is asked for by POST and changes nothing."""
TABLE = role_table(make_stage().app.routes)
NAMES = {
    "device_id": "house-1",
    "name": "quay",
    "pack": "k01",
    "carrier": "1",
    "channel": "1",
    "branch": "a",
    "output": "1",
    "socket": "a",
    "bay": "1",
    "act": "identify",
    "command_id": "c1",
    "rule_id": "weak-rf",
    "session_id": "0",
    "token_id": "0",
    "job_id": "0",
    "run_id": "r64",
    "other": "quay",
    "kind": "positions",
    "key": "1",
    "revision": "3",
}


def filled(path: str) -> str:
    return path.format(**NAMES, code="not-found", path="x") if "{path" not in path else "/ui/x"


def test_the_table_of_roles() -> None:
    """Shown with ``-s``."""
    for method, path, role in TABLE:
        print(f"{role.value:10} {method:9} {path}")
    by_role = {role: {(method, path) for method, path, of in TABLE if of is role} for role in Role}
    assert by_role[Role.EVERYONE] == EVERYONES
    assert by_role[Role.ENGINEER] == ENGINEERS
    assert ("WEBSOCKET", "/api/v1/live") in by_role[Role.VIEWER]
    assert {
        row for row in by_role[Role.VIEWER] if row[0] not in {"GET", "WEBSOCKET", "DELETE"}
    } == ABOUT_ONESELF | ONLY_LOOKS
    assert all(path.startswith("/api/v1/") for _, path in by_role[Role.VIEWER] | by_role[Role.OPERATOR])


async def _nothing() -> None:
    """Answer nothing."""


@pytest.mark.parametrize(
    "route",
    [
        APIRoute("/x", _nothing),
        APIWebSocketRoute("/x", _nothing),
        APIRoute("/x", _nothing, dependencies=[needs(Role.VIEWER), needs(Role.OPERATOR)]),
        Route("/x", _nothing),
        Mount("/x", APIRouter()),
    ],
)
def test_a_route_without_a_role_stops_the_start(stage: Stage, route: Route | Mount) -> None:
    with pytest.raises(RoleUndeclared, match="/x"):
        role_table([*stage.app.routes, route])


@pytest.mark.parametrize(("method", "path", "role"), [row for row in TABLE if row[0] != "WEBSOCKET"])
def test_each_route_lets_in_whom_it_says_and_no_other(method: str, path: str, role: Role) -> None:
    stage = make_stage()
    without = stage.client().request(method, filled(path))
    if role is Role.EVERYONE:
        assert without.status_code not in {401, 403}
        return
    assert (without.status_code, without.json()["code"]) == (401, "session-missing")
    ended = stage.client(Role.ENGINEER)
    session = stage.desk.sessions.find(ended.cookies[COOKIE])
    assert session is not None
    stage.desk.sessions.end(session)
    assert ended.request(method, filled(path)).status_code == 401
    for held in LADDER:
        answer = stage.client(held).request(method, filled(path))
        if LADDER.index(held) < LADDER.index(role):
            assert (answer.status_code, answer.json()["needed_role"]) == (403, role.value)
        else:
            assert answer.status_code not in {401, 403}, answer.text


@pytest.mark.parametrize("secret", ["", "x", "x" * 10_000, "\N{ANCHOR}".encode().decode("latin-1")])
def test_a_cookie_that_is_no_session_is_none(stage: Stage, secret: str) -> None:
    cookie = f"{stage.desk.cookie}={secret}".encode("latin-1")
    answer = stage.client().get("/api/v1/devices", headers=[(b"cookie", cookie)])
    assert answer.status_code == 401


def test_each_role_includes_the_ones_before() -> None:
    assert roles_up_to(Role.VIEWER) == ("viewer",)
    assert roles_up_to(Role.ENGINEER) == ("viewer", "operator", "engineer")


def every_dependency(dependant: Dependant) -> list[Dependant]:
    return [dependant, *(inner for one in dependant.dependencies for inner in every_dependency(one))]


def test_nothing_on_the_way_to_a_route_runs_in_a_thread(stage: Stage) -> None:
    """What isn't a coroutine would be run in a thread by FastAPI, one hop a request and unseen by virtual time."""
    for route in stage.app.routes:
        assert isinstance(route, APIRoute | APIWebSocketRoute)
        for found in every_dependency(route.dependant):
            call = found.call.__call__ if isinstance(found.call, Needs) else found.call
            assert inspect.iscoroutinefunction(call), f"{route.path}: {call}"
