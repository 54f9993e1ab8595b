"""One writer in a zone, where several people share a fleet. Whoever works alone has no need of these."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import Responses, answers, json_body, many
from api.desk import Desk, DeskHere
from api.paging import PagingHere, page, page_response
from api.people_requests import OfferZoneRequest, TakeZoneRequest, ZoneRequest
from api.roles import Role, SessionHere, needs, require
from api.security import Session
from fleet.model.zone import AcceptZone, OfferZone, ReleaseZone, TakeZone, ZoneAct

router = APIRouter(prefix="/api/v1/zones", tags=["zones"])

_DONE: Responses = answers(
    many("ZoneWriter"), also=("not-found", "zone-held", "not-possible-now", "journal-unavailable"), body=True
)


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("ZoneWriter")))
async def list_zones(desk: DeskHere, asked: PagingHere) -> Response:
    """The zones in which one person alone writes. In all others everybody may whose role reaches the setting."""
    return page(desk.console.zones(), lambda writer: writer.zone, asked)


@router.post(
    "/take",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=_DONE,
    openapi_extra=json_body(TakeZoneRequest),
)
async def take_zone(
    desk: DeskHere, session: SessionHere, asked: Annotated[TakeZoneRequest, Depends(body_of(TakeZoneRequest))]
) -> Response:
    """Take a zone that nobody holds. By force, as an engineer and with a reason, also one that somebody does."""
    if asked.by_force:
        require(session.person, Role.ENGINEER)
    return await _done(desk, session, TakeZone(asked.zone, asked.by_force, asked.reason))


@router.post(
    "/offer",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=_DONE,
    openapi_extra=json_body(OfferZoneRequest),
)
async def offer_zone(
    desk: DeskHere, session: SessionHere, asked: Annotated[OfferZoneRequest, Depends(body_of(OfferZoneRequest))]
) -> Response:
    """Offer a zone that one holds; it stays one's own until somebody accepts."""
    return await _done(desk, session, OfferZone(asked.zone, asked.to))


@router.post(
    "/accept",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=_DONE,
    openapi_extra=json_body(ZoneRequest),
)
async def accept_zone(
    desk: DeskHere, session: SessionHere, asked: Annotated[ZoneRequest, Depends(body_of(ZoneRequest))]
) -> Response:
    """Take over a zone that one was offered."""
    return await _done(desk, session, AcceptZone(asked.zone))


@router.post(
    "/release",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=_DONE,
    openapi_extra=json_body(ZoneRequest),
)
async def release_zone(
    desk: DeskHere, session: SessionHere, asked: Annotated[ZoneRequest, Depends(body_of(ZoneRequest))]
) -> Response:
    """Give a zone up that one holds."""
    return await _done(desk, session, ReleaseZone(asked.zone))


async def _done(desk: Desk, session: Session, act: ZoneAct) -> Response:
    await desk.console.execute(session.person.name, act)
    return page_response(desk.console.zones(), None)
