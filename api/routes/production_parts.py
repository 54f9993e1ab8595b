"""The members of the production's lists, each at an address of its own: read, put, patched, removed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from api.body import JSON_MEDIA_TYPES, PATCH_MEDIA_TYPES, read_json
from api.declared import answers, one
from api.desk import DeskHere
from api.paging import json_response
from api.revision import entity_tag
from api.roles import Role, needs
from api.routes.production_writing import WRITES, Writing, WritingHere, changed, object_of, over_values, takes, written
from fleet.model.production import Production
from fleet.model.production_json import production_as_object
from fleet.model.production_parts import PartKind, part_of, patched_part, with_part, without_part

router = APIRouter(prefix="/api/v1/production", tags=["production"])

_KIND = Annotated[PartKind, Path(description="which list")]
_KEY = Annotated[str, Path(max_length=64, description="the member's number, name or id")]


@router.get(
    "/{kind}/{key}",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers({"type": "object"}, also=("not-found",)),
)
async def show_part(desk: DeskHere, kind: _KIND, key: _KEY) -> Response:
    """One member of a list of the production, by its number, name or id."""
    production, revision = desk.console.editor.production()
    return _part_response(production, revision, kind, key)


@router.put(
    "/{kind}/{key}",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=written({"type": "object"}, "not-found"),
    openapi_extra=takes("application/json"),
)
async def put_part(request: Request, writing: WritingHere, kind: _KIND, key: _KEY) -> Response:
    """Put one member in place, or add it: a new cue where its planned start belongs, anything else at the end."""
    body = object_of(await read_json(request, JSON_MEDIA_TYPES))
    return await _change_part(writing, (kind, key), lambda values: with_part(values, kind, key, body))


@router.patch(
    "/{kind}/{key}",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=written({"type": "object"}, "not-found"),
    openapi_extra=takes("application/merge-patch+json"),
)
async def patch_part(request: Request, writing: WritingHere, kind: _KIND, key: _KEY) -> Response:
    """Change single fields of one member; null takes an optional one away."""
    patch = object_of(await read_json(request, PATCH_MEDIA_TYPES))
    return await _change_part(writing, (kind, key), lambda values: patched_part(values, kind, key, patch))


@router.delete(
    "/{kind}/{key}",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=answers(one("Production"), also=(*WRITES, "not-found")),
)
async def remove_part(writing: WritingHere, kind: _KIND, key: _KEY) -> Response:
    """Take one member out; refused while something else in the production names it."""
    return await changed(writing, over_values(lambda values: without_part(values, kind, key)))


async def _change_part(
    writing: Writing, named: tuple[PartKind, str], change: Callable[[dict[str, Any]], dict[str, Any]]
) -> Response:
    production, revision = await writing.change(over_values(change))
    return _part_response(production, revision, *named)


def _part_response(production: Production, revision: int, kind: PartKind, key: str) -> Response:
    part = part_of(production_as_object(production), kind, key)
    return json_response(part, 200, {"ETag": entity_tag(str(revision))})
