"""What a change would do to a plan, before anybody makes it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import NamePath, answers, json_body, one
from api.desk import DeskHere
from api.paging import json_response
from api.roles import Role, needs
from api.what_if_requests import WhatIfRequest

router = APIRouter(prefix="/api/v1/plans", tags=["plans"])


@router.post(
    "/{name}/what-if",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(
        one("Forecast"),
        also=("not-found", "journal-unavailable", "limit-reached", "not-possible-now", "value-refused"),
        body=True,
    ),
    openapi_extra=json_body(WhatIfRequest),
)
async def ask_what_if(
    desk: DeskHere, name: NamePath, asked: Annotated[WhatIfRequest, Depends(body_of(WhatIfRequest))]
) -> Response:
    """The margins of every carrier before and after changes of power, antennas or broadcasters. Nothing is changed.

    It is a forecast; the walk test governs.
    """
    return json_response(await desk.console.plans.what_if(name, asked.model_dump()))
