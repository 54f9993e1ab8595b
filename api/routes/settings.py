"""Settings: a resource of their own for each thing, written by merge patch against the revision that was seen."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Request
from starlette.responses import Response

from api.answers import PersonView
from api.body import PATCH_MEDIA_TYPES, merge_patch_of, read_json
from api.declared import NamePath, answers, one
from api.desk import Desk, DeskHere
from api.paging import json_response
from api.problems import refusal
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import ENGINEERS_FIELDS, Role, SessionHere, needs, require
from fleet.ids import COMMAND_ID_PATTERN
from fleet.model.address import carrier_address, channel_address, pack_address
from fleet.model.fields import Value
from fleet.model.inputs import RequestWrite

router = APIRouter(prefix="/api/v1", tags=["settings"])

_COMMAND_ID = re.compile(COMMAND_ID_PATTERN)
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
_VIEW = [needs(Role.VIEWER)]
_WRITE = [needs(Role.OPERATOR)]

CommandId = Annotated[str | None, Header(description="makes a repeat harmless for ten minutes")]


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
        command_id = _command_id(self.desk, self.command_id)
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


def _command_id(desk: Desk, given: str | None) -> str:
    if given is None:
        return desk.make_command_id()
    if _COMMAND_ID.fullmatch(given) is None:
        raise refusal("bad-header", "Command-Id must be 1 to 64 of A-Z a-z 0-9 _ -")
    return given


def _show(desk: Desk, address: str) -> Response:
    view = desk.console.settings(address)
    return json_response(view, 200, {"ETag": entity_tag(view.revision)})


@router.get("/devices/{device_id}/settings", dependencies=_VIEW, response_model=None, responses=_SHOWN)
async def show_device_settings(desk: DeskHere, device_id: NamePath) -> Response:
    """A device's settings as it reported them, and what is asked of it; the ETag is their revision."""
    return _show(desk, device_id)


@router.get(
    "/devices/{device_id}/carriers/{carrier}/settings", dependencies=_VIEW, response_model=None, responses=_SHOWN
)
async def show_carrier_settings(desk: DeskHere, device_id: NamePath, carrier: NamePath) -> Response:
    """A carrier's settings."""
    return _show(desk, carrier_address(device_id, carrier))


@router.get(
    "/devices/{device_id}/channels/{channel}/settings", dependencies=_VIEW, response_model=None, responses=_SHOWN
)
async def show_channel_settings(desk: DeskHere, device_id: NamePath, channel: NamePath) -> Response:
    """A channel's settings."""
    return _show(desk, channel_address(device_id, channel))


@router.get("/packs/{pack}/settings", dependencies=_VIEW, response_model=None, responses=_SHOWN)
async def show_pack_settings(desk: DeskHere, pack: NamePath) -> Response:
    """A pack's settings."""
    return _show(desk, pack_address(pack))


@router.patch(
    "/devices/{device_id}/settings",
    dependencies=_WRITE,
    response_model=None,
    status_code=202,
    responses=_TAKEN,
    openapi_extra=_BODY,
)
async def change_device_settings(write: WriteHere, device_id: NamePath) -> Response:
    """Ask for a change of a device's settings. Frequency, power and sleep need the role engineer."""
    return await write.of(device_id)


@router.patch(
    "/devices/{device_id}/carriers/{carrier}/settings",
    dependencies=_WRITE,
    response_model=None,
    status_code=202,
    responses=_TAKEN,
    openapi_extra=_BODY,
)
async def change_carrier_settings(write: WriteHere, device_id: NamePath, carrier: NamePath) -> Response:
    """Ask for a change of a carrier's settings. Frequency, power and sleep need the role engineer."""
    return await write.of(carrier_address(device_id, carrier))


@router.patch(
    "/devices/{device_id}/channels/{channel}/settings",
    dependencies=_WRITE,
    response_model=None,
    status_code=202,
    responses=_TAKEN,
    openapi_extra=_BODY,
)
async def change_channel_settings(write: WriteHere, device_id: NamePath, channel: NamePath) -> Response:
    """Ask for a change of a channel's settings. Frequency, power and sleep need the role engineer."""
    return await write.of(channel_address(device_id, channel))


@router.patch(
    "/packs/{pack}/settings",
    dependencies=_WRITE,
    response_model=None,
    status_code=202,
    responses=_TAKEN,
    openapi_extra=_BODY,
)
async def change_pack_settings(write: WriteHere, pack: NamePath) -> Response:
    """Ask for a change of a pack's settings. Frequency, power and sleep need the role engineer."""
    return await write.of(pack_address(pack))
