"""The show clock: where in the running order the evening is, what lies ahead, and the steps that move it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import answers, json_body, one
from api.desk import Desk, DeskHere
from api.paging import json_response
from api.requests import ShowStepRequest, ShowTriggerRequest
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import Role, SessionHere, needs
from fleet.errors import RevisionStale
from fleet.model.ahead import Ahead
from fleet.model.inputs import ShowClock
from fleet.model.show import ShowStep

router = APIRouter(prefix="/api/v1/show", tags=["show"])


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(one("Ahead")))
async def show_ahead(desk: DeskHere) -> Response:
    """The place in the running order and what lies ahead; the ETag is the show clock's revision."""
    return _shown(desk.console.ahead())


@router.post(
    "/step",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=answers(
        one("Ahead"),
        also=("not-found", "stale-revision", "value-refused", "revision-missing"),
        body=True,
    ),
    openapi_extra=json_body(ShowStepRequest),
)
async def step_show(
    desk: DeskHere,
    session: SessionHere,
    asked: Annotated[ShowStepRequest, Depends(body_of(ShowStepRequest))],
    if_match: IfMatch = None,
) -> Response:
    """Move the show clock by hand; If-Match names the place that was seen, so that two hands never move twice."""
    seen = seen_revision(if_match)
    place = desk.console.ahead().show
    if not seen.isdecimal():
        raise RevisionStale("show", seen, str(place.revision), {"cue_id": place.cue_id, "phase": place.phase.value})
    return await _moved(desk, _asked(desk, session.person.name, asked, int(seen)))


@router.post(
    "/trigger",
    dependencies=[needs(Role.OPERATOR)],
    response_model=None,
    responses=answers(
        one("Ahead"), also=("not-found", "value-refused", "command-id-reused", "limit-reached"), body=True
    ),
    openapi_extra=json_body(ShowTriggerRequest),
)
async def trigger_show(
    desk: DeskHere,
    session: SessionHere,
    asked: Annotated[ShowTriggerRequest, Depends(body_of(ShowTriggerRequest))],
) -> Response:
    """Move the show clock from another system. A repeat under the same id within ten minutes does nothing."""
    return await _moved(desk, _asked(desk, session.person.name, asked, None, asked.trigger_id))


def _asked(desk: Desk, by: str, asked: ShowStepRequest, seen: int | None, trigger_id: str = "") -> ShowClock:
    return ShowClock(desk.console.now(), by, ShowStep(asked.step), asked.cue_id, seen, trigger_id)


async def _moved(desk: Desk, asked: ShowClock) -> Response:
    return _shown(await desk.console.move_show(asked))


def _shown(ahead: Ahead) -> Response:
    return json_response(ahead, 200, {"ETag": entity_tag(str(ahead.show.revision))})
