"""Roles hold everywhere: every route with every role and every state of a session or token.

Enumerated: a soak tries every case there is.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass

import pytest
from starlette.testclient import TestClient

from api.answers import PersonView
from api.roles import Role, role_table, roles_up_to
from fleet.clock import ManualClock
from fleet.model.person import HeldRole, included
from tests.api.conftest import COOKIE, Stage, make_stage
from tests.api.test_roles import TABLE, filled
from tests.promises.promise import TIER, Tier
from tests.virtual_time import run_virtual

LADDER = (Role.VIEWER, Role.OPERATOR, Role.ENGINEER)
DAY_S = 24 * 3_600.0
ROUTES = [row for row in TABLE if row[0] != "WEBSOCKET" and row[2] is not Role.EVERYONE]
GOOD_SESSION, GOOD_TOKEN = "an open session", "a token"


@dataclass(frozen=True, slots=True)
class Entry:
    """What a caller brings."""

    headers: dict[str, str]


def _session(stage: Stage, role: Role) -> tuple[Entry, object]:
    secret, session = stage.desk.sessions.open(PersonView("Stage Left", roles_up_to(role)))
    return Entry({"Cookie": f"{COOKIE}={secret}"}), session


def _token(stage: Stage, role: Role, days: int = 1) -> tuple[Entry, str]:
    tokens = stage.desk.accounts.tokens
    secret, kept = tokens.new("script", "Stage Left", included([role.value]), days)
    tokens.put([kept])
    return Entry({"Authorization": f"Bearer {secret}"}), kept.facts.token_id


def _revoked_session(stage: Stage, role: Role) -> Entry:
    entry, session = _session(stage, role)
    stage.desk.sessions.end(session)  # type: ignore[arg-type]  # What _session made.
    return entry


def _expired(make: Callable[[Stage, Role], tuple[Entry, object]]) -> Callable[[Stage, Role], Entry]:
    def made(stage: Stage, role: Role) -> Entry:
        entry, _ = make(stage, role)
        assert isinstance(stage.clock, ManualClock)
        run_virtual(stage.clock.advance(DAY_S))
        return entry

    return made


def _revoked_token(stage: Stage, role: Role) -> Entry:
    entry, token_id = _token(stage, role)
    stage.desk.accounts.tokens.end(token_id)
    return entry


def _disabled(stage: Stage, role: Role) -> Entry:
    """The token of somebody who was disabled since."""
    entry, _ = _token(stage, role)
    accounts = stage.desk.accounts

    async def disable() -> None:
        await accounts.add("Stage Left", [role.value], "a lamp at the rock", "test")
        await accounts.set_disabled("Stage Left", "test", disabled=True)

    asyncio.run(disable())
    return entry


STATES: dict[str, Callable[[Stage, Role], Entry]] = {
    GOOD_SESSION: lambda stage, role: _session(stage, role)[0],
    GOOD_TOKEN: lambda stage, role: _token(stage, role)[0],
    "no session": lambda _stage, _role: Entry({}),
    "a revoked session": _revoked_session,
    "an expired session": _expired(_session),
    "a revoked token": _revoked_token,
    "an expired token": _expired(_token),
    "the token of somebody disabled": _disabled,
}


@pytest.mark.parametrize("state", STATES)
def test_every_route_lets_in_whom_it_says_whatever_they_bring(state: str) -> None:
    cases = 0
    # What opens nothing is tried by the one who would reach the most; a soak tries everybody.
    trying = LADDER if state in (GOOD_SESSION, GOOD_TOKEN) or TIER is not Tier.TEST else LADDER[-1:]
    for held in trying:
        stage = make_stage()
        entry = STATES[state](stage, held)
        client: TestClient = stage.client()
        for method, path, role in ROUTES:
            if state == GOOD_SESSION and (method, path) == ("DELETE", "/api/v1/session"):
                continue  # It ends the session that the others come with; its own test has it.
            status = client.request(method, filled(path), headers=entry.headers).status_code
            case = f"{method} {path} as {held.value} with {state}: {status}"
            if state not in (GOOD_SESSION, GOOD_TOKEN):
                assert status == 401, case
            elif role not in LADDER or LADDER.index(held) < LADDER.index(role):
                assert status == 403, case
            else:
                assert status not in {401, 403}, case
            cases += 1
    print(f"{state}: {cases} cases")
    assert cases >= len(trying) * (len(ROUTES) - 1)


def test_every_route_is_tried() -> None:
    assert {row for row in role_table(make_stage().app.routes) if row[2] is not Role.EVERYONE} - set(ROUTES) == {
        ("WEBSOCKET", "/api/v1/live", Role.VIEWER)
    }
    assert HeldRole.VIEWER.value == Role.VIEWER.value
