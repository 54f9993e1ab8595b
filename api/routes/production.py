"""The production: parts, channels, zones, wiring and running order; read, changed whole, its history."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from api.body import INTEGER_MAXIMUM, PATCH_MEDIA_TYPES, read_json
from api.declared import answers, many, one
from api.desk import DeskHere
from api.paging import PagingHere, page_response
from api.problems import refusal
from api.production_forms import Format, given_production, shown_production
from api.roles import Role, needs
from api.routes import production_parts
from api.routes.production_writing import (
    FILE,
    WRITES,
    WritingHere,
    changed,
    in_every_form,
    object_of,
    over_values,
    takes,
    written,
)
from api.shapes import reference

router = APIRouter(prefix="/api/v1/production", tags=["production"])

_FIELDS = ("name", "zones", "practice")
_REVISION = Annotated[int, Path(ge=1, le=INTEGER_MAXIMUM, description="a revision of the document")]
_FORMAT = Annotated[Format | None, Query(description="json, toml, or csv for the cast alone; else as Accept says")]


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=in_every_form())
async def show_production(
    desk: DeskHere,
    format: _FORMAT = None,  # noqa: A002 - the name that the query has.
    accept: Annotated[str | None, Header()] = None,
) -> Response:
    """The production as it stands; the ETag is the document's revision."""
    production, revision = desk.console.editor.production()
    return shown_production(production, revision, format, accept)


@router.put(
    "",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=written(one("Production")),
    openapi_extra=takes("application/json", "application/toml", "text/csv", schema=reference("Production")),
)
async def put_production(request: Request, writing: WritingHere) -> Response:
    """Put another production in its place: as JSON or TOML the whole, as CSV the cast. All of it or nothing."""
    change = await given_production(request, FILE)
    return await changed(writing, change)


@router.patch(
    "",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=written(one("Production")),
    openapi_extra=takes("application/merge-patch+json"),
)
async def patch_production(request: Request, writing: WritingHere) -> Response:
    """Change the name, the zones, or single numbers of ``practice``. Other lists have addresses of their own."""
    patch = object_of(await read_json(request, PATCH_MEDIA_TYPES))
    if not patch or set(patch) - set(_FIELDS):
        raise refusal("invalid-request", f"The patch must name some of {', '.join(_FIELDS)}, and nothing else.")

    def change(values: dict[str, Any]) -> dict[str, Any]:
        practice = object_of(patch.get("practice", {}))
        return {**values, **patch, "practice": {**values["practice"], **practice}}

    return await changed(writing, over_values(change))


@router.get(
    "/revisions",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(many("DocumentRevision"), also=("journal-unavailable",)),
)
async def list_revisions(desk: DeskHere, asked: PagingHere) -> Response:
    """Every revision that was kept, newest first; none is ever lost."""
    before = int(asked.cursor) if asked.cursor is not None and asked.cursor.isdecimal() else INTEGER_MAXIMUM
    kept = [one for one in await desk.console.editor.production_revisions() if one.revision < before]
    shown = kept[: asked.limit]
    return page_response(shown, str(shown[-1].revision) if len(kept) > len(shown) else None)


@router.get(
    "/revisions/{revision}",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=in_every_form("not-found", "journal-unavailable"),
)
async def show_revision(
    desk: DeskHere,
    revision: _REVISION,
    format: _FORMAT = None,  # noqa: A002 - the name that the query has.
    accept: Annotated[str | None, Header()] = None,
) -> Response:
    """The production as it stood."""
    return shown_production(await desk.console.editor.production_at(revision), revision, format, accept)


@router.post(
    "/revisions/{revision}/revert",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=answers(one("Production"), also=(*WRITES, "not-found")),
)
async def revert_production(writing: WritingHere, revision: _REVISION) -> Response:
    """Make the production say again what it said at a revision; that becomes a new revision."""
    earlier = await writing.desk.console.editor.production_at(revision)
    return await changed(writing, lambda _: earlier)


router.routes.extend(production_parts.router.routes)  # After the others: a list of that name is none of the kinds.
