"""The journal: what happened, in order, by its sequence numbers."""

from __future__ import annotations

import asyncio
from typing import Annotated, get_args

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.body import INTEGER_MAXIMUM
from api.declared import answers, many
from api.desk import DeskHere
from api.paging import LIMIT_DEFAULT, LIMIT_MAXIMUM, page_response
from api.roles import Role, needs
from fleet.ids import ADDRESS_PATTERN
from fleet.model.event import Event
from fleet.model.event_json import recorded_as_object

router = APIRouter(prefix="/api/v1/journal", tags=["journal"])

_KINDS = "|".join(shape.kind for shape in get_args(Event))


@router.get(
    "",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(many("RecordedEvent"), also=("journal-unavailable",)),
)
async def list_events(
    desk: DeskHere,
    since: Annotated[int, Query(ge=0, le=INTEGER_MAXIMUM, description="events after this sequence number")] = 0,
    limit: Annotated[int, Query(ge=1, le=LIMIT_MAXIMUM)] = LIMIT_DEFAULT,
    kind: Annotated[str | None, Query(pattern=f"^({_KINDS})$", description="only events of this kind")] = None,
    address: Annotated[
        str | None, Query(pattern=f"^{ADDRESS_PATTERN}$", description="this and what hangs on it")
    ] = None,
) -> Response:
    """Events in order. ``next`` is the ``since`` of the next page."""

    def read() -> list[dict[str, object]]:
        found = desk.console.reader.events(since, limit, kind=kind, address=address)
        return [recorded_as_object(recorded) for recorded in found]

    events = await asyncio.to_thread(read)
    return page_response(events, str(events[-1]["sequence"]) if len(events) == limit else None)
