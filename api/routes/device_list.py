"""The list of devices: read, edited with revisions, exported and imported; who is around; looking before adding."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from fastapi import APIRouter, Depends, Query
from starlette.requests import Request
from starlette.responses import Response

from api.body import body_of, read_json, validated
from api.declared import NamePath, answers, json_body, many, one
from api.desk import Desk, DeskHere
from api.device_requests import DeviceListRequest, DevicePatch, DeviceRequest, LookRequest, MoveRequest
from api.paging import PagingHere, json_response, page
from api.problems import refusal
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import Role, SessionHere, needs
from fleet.errors import InvalidDocument, RevisionStale
from fleet.model.device_list import DeviceList, ListEdit
from fleet.model.device_list_toml import read_device_list, write_device_list

router = APIRouter(prefix="/api/v1", tags=["device list"])

TOML = "application/toml"
_JSON_TYPES = frozenset({"application/json"})
_EDITS = ("stale-revision", "revision-missing", "value-refused", "journal-unavailable")
_ENGINEER = [needs(Role.ENGINEER)]
_VIEWER = [needs(Role.VIEWER)]
_EXPORTED = answers(one("DeviceList"), also=("not-found", "journal-unavailable"))
_EXPORTED[200]["content"][TOML] = {"schema": {"type": "string"}}
Form = Annotated[Literal["json", "toml"], Query(description="what the list is written as")]
Revision = Annotated[int | None, Query(ge=1, description="the list as it stood then; as it stands when left out")]


@router.get("/device-list", dependencies=_VIEWER, response_model=None, responses=answers(many("DeviceEntry")))
async def list_entries(desk: DeskHere, asked: PagingHere) -> Response:
    """Every device of the list, with those that were given at start-up; the ETag is the list's revision."""
    entries, revision = desk.console.roster.entries()
    shown = page(entries, lambda entry: entry.device_id, asked)
    shown.headers["ETag"] = entity_tag(str(revision))
    return shown


@router.get(
    "/device-list/document",
    dependencies=_VIEWER,
    response_model=None,
    responses=_EXPORTED,
)
async def export_list(desk: DeskHere, form: Form = "json", revision: Revision = None) -> Response:
    """The document itself, as JSON or TOML, as it stands or stood; the same goes in again by PUT.

    What was given at start-up isn't part of it.
    """
    listed, current = desk.console.roster.listed()
    if revision is not None:
        listed = await desk.console.roster.at_revision(revision)
    headers = {"ETag": entity_tag(str(revision or current))}
    if form == "toml":
        headers["Content-Disposition"] = 'attachment; filename="redpoll-devices.toml"'
        return Response(write_device_list(listed), 200, headers, TOML)
    return json_response(_as_sent(listed), 200, headers)


@router.get(
    "/device-list/revisions", dependencies=_VIEWER, response_model=None, responses=answers(many("ListRevision"))
)
async def list_revisions(desk: DeskHere, asked: PagingHere) -> Response:
    """Every revision of the list: who wrote it, when, and how many devices it held."""
    return page(await desk.console.roster.revisions(), lambda each: f"{each.revision:010d}", asked)


@router.put(
    "/device-list",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("DeviceList"), also=_EDITS, body=True),
    openapi_extra=json_body(DeviceListRequest),
)
async def replace_list(desk: DeskHere, session: SessionHere, request: Request, if_match: IfMatch = None) -> Response:
    """Put a whole list in the place of the one that stands, as JSON or as TOML; all of it or nothing."""
    edit = _edit(desk, session.person.name, if_match)
    revision = await desk.console.roster.replace(edit, await _list_of(request))
    return json_response(_as_sent(desk.console.roster.listed()[0]), 200, {"ETag": entity_tag(str(revision))})


@router.post(
    "/device-list/devices",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=201,
    responses=answers(one("DeviceEntry"), 201, also=_EDITS, body=True),
    openapi_extra=json_body(DeviceRequest),
)
async def add_device(
    desk: DeskHere,
    session: SessionHere,
    asked: Annotated[DeviceRequest, Depends(body_of(DeviceRequest))],
    if_match: IfMatch = None,
) -> Response:
    """Add one device; it is called at once."""
    edit = _edit(desk, session.person.name, if_match)
    revision = await desk.console.roster.add(edit, asked.device())
    return _entry(desk, asked.device_id, revision, 201)


@router.patch(
    "/device-list/devices/{device_id}",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("DeviceEntry"), also=("not-found", *_EDITS), body=True),
    openapi_extra=json_body(DevicePatch),
)
async def change_device(
    desk: DeskHere,
    session: SessionHere,
    device_id: NamePath,
    asked: Annotated[DevicePatch, Depends(body_of(DevicePatch))],
    if_match: IfMatch = None,
) -> Response:
    """Change members of one device, or switch it off or on; one of the start-up gets an entry that stands before it."""
    edit = _edit(desk, session.person.name, if_match)
    changes = asked.changes()
    if not changes:
        raise refusal("invalid-request", "The patch names nothing to change.")
    return _entry(desk, device_id, await desk.console.roster.change(edit, device_id, changes))


@router.delete(
    "/device-list/devices/{device_id}",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=204,
    responses=answers({}, 204, also=("not-found", *_EDITS)),
)
async def remove_device(
    desk: DeskHere, session: SessionHere, device_id: NamePath, if_match: IfMatch = None
) -> Response:
    """Take one device out of the list; its contact ends at once, and so do its alarms."""
    edit = _edit(desk, session.person.name, if_match)
    revision = await desk.console.roster.remove(edit, device_id)
    return Response(None, 204, {"ETag": entity_tag(str(revision))})


@router.post(
    "/device-list/devices/{device_id}/move",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("DeviceEntry"), also=("not-found", "limit-reached", *_EDITS), body=True),
    openapi_extra=json_body(MoveRequest),
)
async def move_device(
    desk: DeskHere,
    session: SessionHere,
    device_id: NamePath,
    asked: Annotated[MoveRequest, Depends(body_of(MoveRequest))],
    if_match: IfMatch = None,
) -> Response:
    """Call a device that is lost at another address from now on, once it has said there that it is the one."""
    edit = _edit(desk, session.person.name, if_match)
    return _entry(desk, device_id, await desk.console.roster.move(edit, device_id, asked.url))


@router.post(
    "/device-list/look",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("Looked"), also=("value-refused", "limit-reached"), body=True),
    openapi_extra=json_body(LookRequest),
)
async def look_at_address(desk: DeskHere, asked: Annotated[LookRequest, Depends(body_of(LookRequest))]) -> Response:
    """Ask who is at an address, without adding anything; it takes five seconds at the most."""
    return json_response(await desk.console.roster.look(asked.url, asked.token))


@router.get("/discovered", dependencies=_VIEWER, response_model=None, responses=answers(one("Discovery")))
async def list_discovered(desk: DeskHere) -> Response:
    """What announces itself now, and how it stands to the list; at most 256, and nothing of it is added by itself."""
    return json_response(desk.console.roster.discovery())


def _edit(desk: Desk, person: str, if_match: str | None) -> ListEdit:
    """The edit that a caller may make who saw the list as it stands."""
    seen = seen_revision(if_match)
    current = desk.console.roster.listed()[1]
    if seen != str(current):
        raise RevisionStale("device-list", seen, str(current), {})
    return ListEdit(person, current)


async def _list_of(request: Request) -> DeviceList:
    kind = request.headers.get("content-type", "").split(";", 1)[0].strip().lower()
    if kind != TOML:
        asked = validated(DeviceListRequest, await read_json(request, _JSON_TYPES | {TOML}))
        return DeviceList(tuple(device.device() for device in asked.devices))
    try:
        return read_device_list((await request.body()).decode(), "the body")
    except UnicodeDecodeError as error:
        raise refusal("unreadable-body", "The body can't be read: it is not UTF-8.") from error
    except InvalidDocument as error:
        # The key may be the sender's own word, and so may what was found there: neither is repeated.
        raise refusal("invalid-request", f"The list is wrong: expected {error.expected}.") from error


def _as_sent(listed: DeviceList) -> object:
    return msgspec.to_builtins(listed)


def _entry(desk: Desk, device_id: str, revision: int, status: int = 200) -> Response:
    entries, _ = desk.console.roster.entries()
    found = next(entry for entry in entries if entry.device_id == device_id)
    return json_response(found, status, {"ETag": entity_tag(str(revision))})
