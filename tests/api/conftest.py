"""A console that stands still behind the whole application, and a client for each role."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from api.answers import PersonView
from api.app import create_app
from api.desk import Desk
from api.door import RateBound, loopback_only
from api.roles import Role, roles_up_to
from api.security import Launches, Sessions
from fleet.clock import Clock, ManualClock
from tests.api.fake_console import FakeConsole
from tests.api.people_in_memory import PeopleInMemory, accounts_in_memory

PORT = 8017
SITE = f"http://127.0.0.1:{PORT}"
COOKIE = f"redpoll-session-{PORT}"


@dataclass(slots=True)
class Stage:
    """Everything a test of the API needs."""

    console: FakeConsole
    clock: Clock
    desk: Desk
    app: FastAPI
    people: PeopleInMemory

    def cookie(self, role: Role) -> str:
        """The secret of a fresh session of somebody with that role."""
        secret, _ = self.desk.sessions.open(PersonView("Stage Left", roles_up_to(role)))
        return secret

    def client(self, role: Role | None = None) -> TestClient:
        """A client that stands at the console's own address."""
        cookies = {} if role is None else {COOKIE: self.cookie(role)}
        return TestClient(self.app, base_url=SITE, cookies=cookies, client=("127.0.0.1", 50_000))


def make_stage(
    screen: Path = Path("no-such-folder"), *, rate: RateBound | None = None, clock: Clock | None = None
) -> Stage:
    """The whole application over a console that stands still, on a clock that does too unless another is given."""
    clock = clock or ManualClock(utc_start_us=1_700_000_000_000_000)
    console = FakeConsole(clock)
    sessions = Sessions(clock)
    people = PeopleInMemory()
    accounts = accounts_in_memory(clock, sessions, console.note, people)
    desk = Desk(console, sessions, Launches(clock), clock, COOKIE, "0.1.0", accounts)
    bound = rate or RateBound(clock, a_second=1e9, at_once=1e9)
    return Stage(console, clock, desk, create_app(desk, loopback_only(PORT), screen=screen, rate=bound), people)


@pytest.fixture
def stage() -> Stage:
    return make_stage()


@pytest.fixture
def viewer(stage: Stage) -> TestClient:
    return stage.client(Role.VIEWER)


@pytest.fixture
def engineer(stage: Stage) -> TestClient:
    return stage.client(Role.ENGINEER)
