"""Entering and leaving: a launch link's token becomes a session's cookie, once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.requests import HTTPConnection
from starlette.responses import Response

from api.answers import SessionView
from api.body import body_of
from api.declared import answers, json_body, one, open_answers
from api.desk import DeskHere, desk_of
from api.paging import json_response
from api.problems import refusal
from api.requests import LaunchRequest
from api.roles import Role, SessionHere, needs
from api.security import SESSION_LASTS_S, Session

router = APIRouter(prefix="/api/v1/session", tags=["session"])


@router.post(
    "/launch",
    dependencies=[needs(Role.EVERYONE)],
    response_model=None,
    responses=open_answers(one("SessionView"), also=("launch-refused",), body=True),
    openapi_extra=json_body(LaunchRequest),
)
async def open_session(desk: DeskHere, asked: Annotated[LaunchRequest, Depends(body_of(LaunchRequest))]) -> Response:
    """Exchange the token of a launch link for a session; each token works once, for five minutes."""
    person = desk.launches.redeem(asked.token)
    if person is None:
        raise refusal("launch-refused", "The link was used, has lapsed or was never given out. Get a fresh one.")
    secret, session = desk.sessions.open(person)
    answer = _shown(session)
    answer.set_cookie(desk.cookie, secret, max_age=SESSION_LASTS_S, path="/", httponly=True, samesite="strict")
    return answer


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
    responses=answers({}, 204),
)
async def end_session(connection: HTTPConnection, session: SessionHere) -> Response:
    """End the session; its live connections close."""
    desk = desk_of(connection)
    desk.sessions.end(session)
    answer = Response(status_code=204)
    answer.delete_cookie(desk.cookie, path="/", httponly=True, samesite="strict")
    return answer


def _shown(session: Session) -> Response:
    return json_response(SessionView(session.person, session.expires_utc_us))
