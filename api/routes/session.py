"""Entering and leaving: by a launch link's token or by name and password, either becomes a session's cookie."""

from __future__ import annotations

from ipaddress import ip_address
from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.requests import HTTPConnection, Request
from starlette.responses import Response

from api.answers import SessionView
from api.body import body_of
from api.declared import answers, json_body, one, open_answers
from api.desk import Desk, DeskHere, desk_of
from api.paging import json_response
from api.people_requests import LoginRequest, OwnPasswordRequest
from api.problems import refusal
from api.requests import LaunchRequest
from api.roles import Role, SessionHere, needs
from api.security import SESSION_LASTS_S, Session
from fleet.errors import InvalidRequest

router = APIRouter(prefix="/api/v1/session", tags=["session"])


@router.post(
    "/launch",
    dependencies=[needs(Role.EVERYONE)],
    response_model=None,
    responses=open_answers(one("SessionView"), also=("launch-refused",), body=True),
    openapi_extra=json_body(LaunchRequest),
)
async def open_session(
    request: Request, desk: DeskHere, asked: Annotated[LaunchRequest, Depends(body_of(LaunchRequest))]
) -> Response:
    """Exchange the token of a launch link for a session, on the console's own machine; each works once."""
    person = desk.launches.redeem(asked.token) if _is_here(request) else None
    if person is None:
        raise refusal("launch-refused", "The link was used, has lapsed or was never given out. Get a fresh one.")
    return _entered(desk, *await desk.accounts.entrance.by_link(person))


@router.post(
    "/login",
    dependencies=[needs(Role.EVERYONE)],
    response_model=None,
    responses=open_answers(one("SessionView"), also=("login-refused", "journal-unavailable"), body=True),
    openapi_extra=json_body(LoginRequest),
)
async def log_in(
    request: Request, desk: DeskHere, asked: Annotated[LoginRequest, Depends(body_of(LoginRequest))]
) -> Response:
    """Come in by name and password. Tries are bounded; a wrong name and a wrong password get the same answer."""
    caller = request.client.host if request.client else ""
    return _entered(desk, *await desk.accounts.entrance.by_password(asked.name, asked.password, caller))


@router.post(
    "/password",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    status_code=204,
    responses=answers({}, 204, also=("login-refused", "not-possible-now", "journal-unavailable"), body=True),
    openapi_extra=json_body(OwnPasswordRequest),
)
async def change_own_password(
    request: Request,
    desk: DeskHere,
    session: SessionHere,
    asked: Annotated[OwnPasswordRequest, Depends(body_of(OwnPasswordRequest))],
) -> Response:
    """Change one's own password; one's other sessions end."""
    caller = request.client.host if request.client else ""
    await desk.accounts.change_own_password(session, asked.old, asked.new, caller)
    return Response(status_code=204)


@router.get(
    "",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(one("SessionView")),
)
async def show_session(session: SessionHere) -> Response:
    """Who the caller is."""
    return _shown(session)


@router.delete(
    "",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    status_code=204,
    responses=answers({}, 204, also=("not-possible-now", "journal-unavailable")),
)
async def end_session(connection: HTTPConnection, session: SessionHere) -> Response:
    """End the session; its live connections close."""
    desk = desk_of(connection)
    if session.token_id:
        raise InvalidRequest("a token has no session to end; revoke it among the tokens")
    await desk.accounts.entrance.end([session], "left", session.person.name)
    answer = Response(status_code=204)
    answer.delete_cookie(desk.cookie, path="/", secure=desk.secure, httponly=True, samesite="strict")
    return answer


def _is_here(request: Request) -> bool:
    """A launch link is for whoever sits at this machine."""
    try:
        return request.client is not None and ip_address(request.client.host).is_loopback
    except ValueError:
        return False


def _entered(desk: Desk, secret: str, session: Session) -> Response:
    answer = _shown(session)
    answer.set_cookie(
        desk.cookie, secret, SESSION_LASTS_S, path="/", secure=desk.secure, httponly=True, samesite="strict"
    )
    return answer


def _shown(session: Session) -> Response:
    return json_response(SessionView(session.person, session.expires_utc_us))
