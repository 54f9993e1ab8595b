"""The people who may log in: for engineers. Names stand in bodies, never in addresses."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import answers, json_body, many, one
from api.desk import DeskHere
from api.paging import PagingHere, json_response, page
from api.people_requests import NewPersonRequest, PasswordRequest, PersonRequest, RolesRequest
from api.roles import Role, SessionHere, needs

router = APIRouter(prefix="/api/v1/people", tags=["people"])

_CHANGED = answers(one("Person"), also=("not-found", "not-possible-now", "journal-unavailable"), body=True)


@router.get(
    "",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=answers(many("Person"), also=("journal-unavailable",)),
)
async def list_people(desk: DeskHere, asked: PagingHere) -> Response:
    """Everybody who may log in, or might if they weren't disabled."""
    return page(await desk.accounts.everybody(), lambda person: person.name, asked)


@router.post(
    "",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    status_code=201,
    responses=answers(one("Person"), 201, also=("not-possible-now", "limit-reached", "journal-unavailable"), body=True),
    openapi_extra=json_body(NewPersonRequest),
)
async def add_person(
    desk: DeskHere, session: SessionHere, asked: Annotated[NewPersonRequest, Depends(body_of(NewPersonRequest))]
) -> Response:
    """Let somebody new log in."""
    by = session.person.name
    return json_response(await desk.accounts.add(asked.name, asked.roles, asked.password, by), 201)


@router.post(
    "/roles",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=_CHANGED,
    openapi_extra=json_body(RolesRequest),
)
async def set_roles(
    desk: DeskHere, session: SessionHere, asked: Annotated[RolesRequest, Depends(body_of(RolesRequest))]
) -> Response:
    """Give somebody other roles; they hold from the next request on."""
    return json_response(await desk.accounts.set_roles(asked.name, asked.roles, session.person.name))


@router.post(
    "/password",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=_CHANGED,
    openapi_extra=json_body(PasswordRequest),
)
async def set_password(
    desk: DeskHere, session: SessionHere, asked: Annotated[PasswordRequest, Depends(body_of(PasswordRequest))]
) -> Response:
    """Give somebody another password; their sessions end."""
    return json_response(await desk.accounts.set_password(asked.name, asked.password, session.person.name))


@router.post(
    "/disable",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=_CHANGED,
    openapi_extra=json_body(PersonRequest),
)
async def disable_person(
    desk: DeskHere, session: SessionHere, asked: Annotated[PersonRequest, Depends(body_of(PersonRequest))]
) -> Response:
    """Let somebody in no more; their sessions and tokens end for good. The last engineer can't be disabled."""
    return json_response(await desk.accounts.set_disabled(asked.name, session.person.name, disabled=True))


@router.post(
    "/enable",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=_CHANGED,
    openapi_extra=json_body(PersonRequest),
)
async def enable_person(
    desk: DeskHere, session: SessionHere, asked: Annotated[PersonRequest, Depends(body_of(PersonRequest))]
) -> Response:
    """Let somebody in again; what was theirs before stays ended."""
    return json_response(await desk.accounts.set_disabled(asked.name, session.person.name, disabled=False))
