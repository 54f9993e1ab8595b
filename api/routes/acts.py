"""Acts: what can be done to a thing and is no setting. Each becomes a command, sent once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path
from starlette.responses import Response

from api.body import body_of
from api.command_id import CommandId, command_id_of
from api.declared import answers, json_body, one
from api.desk import DeskHere
from api.paging import json_response
from api.requests import ActRequest
from api.roles import Role, SessionHere, needs
from api.things import THINGS, ThingPath
from fleet.ids import NAME_PATTERN
from fleet.model.inputs import RequestAct

router = APIRouter(prefix="/api/v1", tags=["acts"])

ActPath = Annotated[str, Path(pattern=f"^{NAME_PATTERN}$", description="the act, as the device's description names it")]
_TAKEN = answers(
    one("Command"),
    202,
    also=(
        "not-found",
        "not-possible-now",
        "command-id-reused",
        "value-refused",
        "limit-reached",
        "journal-unavailable",
    ),
    body=True,
)


def _offer(thing: ThingPath) -> None:
    address_here = Depends(thing.address)

    async def do_act(
        *,
        desk: DeskHere,
        session: SessionHere,
        act: ActPath,
        asked: Annotated[ActRequest, Depends(body_of(ActRequest))],
        address: str = address_here,
        command_id: CommandId = None,
    ) -> Response:
        name = command_id_of(desk, command_id)
        request = RequestAct(name, address, act, dict(asked.arguments))
        command = await desk.console.execute(session.person.name, request)
        return json_response(command, 202, {"Location": f"/api/v1/commands/{name}"})

    router.add_api_route(
        f"{thing.path}/acts/{{act}}",
        do_act,
        methods=["POST"],
        dependencies=[needs(Role.ENGINEER)],
        response_model=None,
        status_code=202,
        responses=_TAKEN,
        openapi_extra=json_body(ActRequest),
        description=f"Ask for an act on {thing.words}. Secret arguments go to the device and are kept nowhere.",
    )


for _thing in THINGS:
    _offer(_thing)
