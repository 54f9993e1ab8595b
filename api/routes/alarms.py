"""Alarms, and the matters that gather them under their cause."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import answers, json_body, many
from api.desk import DeskHere
from api.paging import PagingHere, page, page_response
from api.requests import AcknowledgeRequest
from api.roles import Role, SessionHere, needs
from fleet.model.inputs import Acknowledge

router = APIRouter(prefix="/api/v1", tags=["alarms"])


@router.get("/alarms", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("Alarm")))
async def list_alarms(desk: DeskHere, asked: PagingHere) -> Response:
    """Every alarm that is not normal, by its id."""
    return page(desk.console.alarms(), lambda alarm: alarm.alarm_id, asked)


@router.post(
    "/alarms/acknowledge",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=answers(many("Alarm"), also=("not-found", "not-possible-now", "journal-unavailable"), body=True),
    openapi_extra=json_body(AcknowledgeRequest),
)
async def acknowledge_alarms(
    desk: DeskHere,
    session: SessionHere,
    asked: Annotated[AcknowledgeRequest, Depends(body_of(AcknowledgeRequest))],
) -> Response:
    """Acknowledge alarms; one that is acknowledged already stays as it is. Answers with those alarms as they stand."""
    wanted = tuple(dict.fromkeys(asked.alarm_ids))
    acknowledged = await desk.console.execute(session.person.name, Acknowledge(wanted))
    return page_response(acknowledged if isinstance(acknowledged, tuple) else (), None)


@router.get("/matters", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("Matter")))
async def list_matters(desk: DeskHere) -> Response:
    """What needs somebody, root cause first, in order of priority; always the whole list."""
    return page_response(desk.console.matters(), None)
