"""Settings: a resource of their own for each thing, written by merge patch against the revision that was seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from api.answers import PersonView
from api.body import PATCH_MEDIA_TYPES, merge_patch_of, read_json
from api.command_id import CommandId, command_id_of
from api.declared import answers, one
from api.desk import Desk, DeskHere
from api.paging import json_response
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import ENGINEERS_FIELDS, Role, SessionHere, needs, require
from api.things import THINGS, ThingPath
from fleet.model.fields import Value
from fleet.model.inputs import RequestWrite

router = APIRouter(prefix="/api/v1", tags=["settings"])

_VALUE = {"type": ["boolean", "number", "string"]}
_PATCH = {"type": "object", "minProperties": 1, "maxProperties": 32, "additionalProperties": _VALUE}
_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "application/merge-patch+json": {"schema": _PATCH},
            "application/json": {"schema": _PATCH},
        },
    }
}
_SHOWN = answers(one("SettingsView"), also=("not-found",))
_TAKEN = answers(
    one("Command"),
    202,
    also=(
        "not-found",
        "not-possible-now",
        "command-id-reused",
        "stale-revision",
        "value-refused",
        "revision-missing",
        "limit-reached",
        "journal-unavailable",
    ),
    body=True,
)


@dataclass(frozen=True, slots=True)
class Write:
    """What a route needs to turn a request into a command."""

    desk: Desk
    person: PersonView
    request: Request
    if_match: str | None
    command_id: str | None

    async def of(self, address: str) -> Response:
        """Ask for the change; answers 202 with the command, which lives on at its Location."""
        changes = merge_patch_of(await read_json(self.request, PATCH_MEDIA_TYPES))
        _require_role(self.person, changes)
        command_id = command_id_of(self.desk, self.command_id)
        self.desk.console.settings(address)
        act = RequestWrite(command_id, address, changes, seen_revision(self.if_match))
        command = await self.desk.console.execute(self.person.name, act)
        return json_response(command, 202, {"Location": f"/api/v1/commands/{command_id}"})


async def _write_here(
    *,
    desk: DeskHere,
    session: SessionHere,
    request: Request,
    if_match: IfMatch = None,
    command_id: CommandId = None,
) -> Write:
    return Write(desk, session.person, request, if_match, command_id)


WriteHere = Annotated[Write, Depends(_write_here)]


def _require_role(person: PersonView, changes: dict[str, Value]) -> None:
    if ENGINEERS_FIELDS & changes.keys():
        require(person, Role.ENGINEER)


def _offer(thing: ThingPath) -> None:
    path, address_here = f"{thing.path}/settings", Depends(thing.address)

    async def show_settings(desk: DeskHere, address: str = address_here) -> Response:
        view = desk.console.settings(address)
        return json_response(view, 200, {"ETag": entity_tag(view.revision)})

    async def change_settings(write: WriteHere, address: str = address_here) -> Response:
        return await write.of(address)

    router.add_api_route(
        path,
        show_settings,
        methods=["GET"],
        dependencies=[needs(Role.VIEWER)],
        response_model=None,
        responses=_SHOWN,
        description=f"The settings of {thing.words} as reported, and what is asked of it; the ETag is their revision.",
    )
    router.add_api_route(
        path,
        change_settings,
        methods=["PATCH"],
        dependencies=[needs(Role.OPERATOR)],
        response_model=None,
        status_code=202,
        responses=_TAKEN,
        openapi_extra=_BODY,
        description=f"Ask for a change of the settings of {thing.words}. Frequency, power and sleep need an engineer.",
    )


for _thing in THINGS:
    _offer(_thing)
