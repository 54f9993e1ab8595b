"""Who may do what. Every route and the WebSocket name the least role that reaches them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Annotated, Any

from fastapi import Depends
from fastapi.routing import APIRoute, APIWebSocketRoute
from starlette.requests import HTTPConnection
from starlette.routing import BaseRoute

from api.answers import PersonView
from api.desk import desk_of
from api.problems import refusal
from api.security import Session, bearer_of
from fleet.errors import NotPermitted


class Role(StrEnum):
    """The roles; of viewer, operator and engineer each includes the one before, the instructor's is held besides.

    EVERYONE marks the few routes that need no session.
    """

    EVERYONE = "everyone"
    VIEWER = "viewer"
    OPERATOR = "operator"
    ENGINEER = "engineer"
    INSTRUCTOR = "instructor"


_LADDER = (Role.VIEWER, Role.OPERATOR, Role.ENGINEER)
LAUNCH_ROLES = (*_LADDER, Role.INSTRUCTOR)
ENGINEERS_FIELDS = frozenset({"frequency_hz", "rf_power_mw", "rf_on", "standby", "encryption"})
"""Settings that take a channel off the air or change what it radiates; the other settings are ordinary ones."""


class RoleUndeclared(Exception):
    """A route was built without saying who may use it; the application refuses to start."""

    def __init__(self, routes: Iterable[str]) -> None:
        self.routes = tuple(routes)
        super().__init__(f"no role is declared for {', '.join(self.routes)}; give each route needs(Role.…)")


def roles_up_to(role: Role) -> tuple[str, ...]:
    """The roles of somebody whose highest on the ladder is ``role``."""
    return tuple(step.value for step in _LADDER[: _LADDER.index(role) + 1])


def require(person: PersonView, role: Role) -> None:
    """Raise NotPermitted unless the person holds the role."""
    if role.value not in person.roles:
        raise NotPermitted(role.value)


class Needs:
    """A dependency that lets only those in who hold a role; routes are searched for it at start-up."""

    def __init__(self, role: Role) -> None:
        self.role = role

    async def __call__(self, connection: HTTPConnection) -> None:
        """Raise RequestRefused without a session, NotPermitted without the role."""
        if self.role is not Role.EVERYONE:
            require(session_of(connection).person, self.role)


def needs(role: Role) -> Any:
    """Declare the least role that reaches a route, for the ``dependencies`` of its decorator."""
    return Depends(Needs(role))


def session_of(connection: HTTPConnection) -> Session:
    """The caller's session, or what their token opens. Beside a token no cookie counts.

    Raises RequestRefused (401) when there is none.
    """
    desk = desk_of(connection)
    bearer = bearer_of(connection.headers)
    if bearer is not None:
        session = desk.accounts.tokens.find(bearer)
    else:
        secret = connection.cookies.get(desk.cookie)
        session = desk.sessions.find(secret) if secret else None
    if session is None:
        raise refusal("session-missing", "There is no session, or it has ended; log in, or open a launch link.")
    return session


async def _session_here(connection: HTTPConnection) -> Session:
    return session_of(connection)


SessionHere = Annotated[Session, Depends(_session_here)]


def role_of(route: BaseRoute) -> Role | None:
    """The role that a route declares, or None when it declares none."""
    if not isinstance(route, APIRoute | APIWebSocketRoute):
        return None
    declared = [found.call.role for found in route.dependant.dependencies if isinstance(found.call, Needs)]
    return declared[0] if len(declared) == 1 else None


def role_table(routes: Sequence[BaseRoute]) -> tuple[tuple[str, str, Role], ...]:
    """Every method and path with its role.

    Raises RoleUndeclared for a route that names none, or two.
    """
    undeclared = [_path(route) for route in routes if role_of(route) is None]
    if undeclared:
        raise RoleUndeclared(undeclared)
    rows = [(method, _path(route), role) for route in routes for method in _methods(route) if (role := role_of(route))]
    return tuple(sorted(rows, key=lambda row: (row[1], row[0])))


def _path(route: BaseRoute) -> str:
    return str(getattr(route, "path", route))


def _methods(route: BaseRoute) -> list[str]:
    return sorted(getattr(route, "methods", None) or ["WEBSOCKET"])
