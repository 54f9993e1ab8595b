"""The devices' bearer tokens: names go in and out, tokens only in."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import NamePath, answers, json_body
from api.desk import DeskHere
from api.device_requests import DeviceTokenRequest
from api.paging import json_response
from api.problems import refusal
from api.roles import Role, needs

router = APIRouter(prefix="/api/v1/device-tokens", tags=["device list"])

_ENGINEER = [needs(Role.ENGINEER)]
_NAMES = {
    "type": "object",
    "required": ["names"],
    "properties": {"names": {"type": "array", "items": {"type": "string"}}},
}


@router.get("", dependencies=_ENGINEER, response_model=None, responses=answers(_NAMES, also=("value-refused",)))
async def list_tokens(desk: DeskHere) -> Response:
    """The names under which tokens are kept, at most 256."""
    return json_response({"names": desk.console.roster.tokens().names()})


@router.put(
    "/{name}",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=204,
    responses=answers({}, 204, also=("value-refused", "limit-reached", "journal-unavailable"), body=True),
    openapi_extra=json_body(DeviceTokenRequest),
)
async def put_token(
    desk: DeskHere, name: NamePath, asked: Annotated[DeviceTokenRequest, Depends(body_of(DeviceTokenRequest))]
) -> Response:
    """Keep a token under a name. It is never shown again; a device gets it when it is next called."""
    try:
        desk.console.roster.tokens().put(name, asked.token)
    except OSError as error:
        raise _not_kept() from error
    return Response(None, 204)


@router.delete(
    "/{name}",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=204,
    responses=answers({}, 204, also=("not-found", "value-refused", "journal-unavailable")),
)
async def remove_token(desk: DeskHere, name: NamePath) -> Response:
    """Forget a token."""
    try:
        desk.console.roster.tokens().remove(name)
    except OSError as error:
        raise _not_kept() from error
    return Response(None, 204)


def _not_kept() -> Exception:
    return refusal("journal-unavailable", "The file of the device tokens can't be written; nothing was changed.")
