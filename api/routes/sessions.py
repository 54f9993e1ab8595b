"""Open sessions and tokens: one's own for everybody, all of them for engineers."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Query
from starlette.responses import Response

from api.body import body_of
from api.declared import answers, json_body, many, one
from api.desk import DeskHere
from api.paging import PagingHere, json_response, page
from api.people_answers import NewToken, OpenSession
from api.people_requests import NewTokenRequest
from api.roles import Role, SessionHere, needs, require

router = APIRouter(prefix="/api/v1", tags=["people"])

IdPath = Annotated[str, Path(pattern="^[0-9a-f]{1,64}$", description="its id, which is no secret")]
Everybody = Annotated[bool, Query(description="everybody's, which needs the role engineer")]
_GONE = answers({}, 204, also=("not-found", "journal-unavailable"))


@router.get("/sessions", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("OpenSession")))
async def list_sessions(
    desk: DeskHere, session: SessionHere, asked: PagingHere, *, everybody: Everybody = False
) -> Response:
    """The caller's open sessions, or everybody's."""
    if everybody:
        require(session.person, Role.ENGINEER)
    found = desk.sessions.all() if everybody else desk.sessions.of(session.person.name)
    shown = [OpenSession(one.facts(), one is session) for one in found]
    return page(shown, lambda one: one.session.session_id, asked)


@router.delete(
    "/sessions/{session_id}", dependencies=[needs(Role.VIEWER)], response_model=None, status_code=204, responses=_GONE
)
async def revoke_session(desk: DeskHere, session: SessionHere, session_id: IdPath) -> Response:
    """Put a session out: one's own, or as an engineer anybody's. Its live connections close at once."""
    await desk.accounts.revoke_session(session_id, session.person)
    return Response(status_code=204)


@router.get("/tokens", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("TokenFacts")))
async def list_tokens(
    desk: DeskHere, session: SessionHere, asked: PagingHere, *, everybody: Everybody = False
) -> Response:
    """The caller's tokens, or everybody's; never their secrets."""
    if everybody:
        require(session.person, Role.ENGINEER)
    tokens = desk.accounts.tokens
    found = tokens.all() if everybody else tokens.of(session.person.name)
    return page(found, lambda one: one.token_id, asked)


@router.post(
    "/tokens",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    status_code=201,
    responses=answers(
        one("NewToken"), 201, also=("not-possible-now", "limit-reached", "journal-unavailable"), body=True
    ),
    openapi_extra=json_body(NewTokenRequest),
)
async def make_token(
    desk: DeskHere, session: SessionHere, asked: Annotated[NewTokenRequest, Depends(body_of(NewTokenRequest))]
) -> Response:
    """Make a token for a script, with no more roles than one holds. Its secret is in this answer and nowhere else."""
    secret, facts = await desk.accounts.make_token(session, asked.name, asked.roles, asked.days)
    return json_response(NewToken(secret, facts), 201)


@router.delete(
    "/tokens/{token_id}", dependencies=[needs(Role.VIEWER)], response_model=None, status_code=204, responses=_GONE
)
async def revoke_token(desk: DeskHere, session: SessionHere, token_id: IdPath) -> Response:
    """Revoke a token: one's own, or as an engineer anybody's. Its live connections close at once."""
    await desk.accounts.revoke_token(token_id, session.person)
    return Response(status_code=204)
