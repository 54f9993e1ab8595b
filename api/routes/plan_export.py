"""Plans handed on: as a table, whole, as a page to print, and as a list of occupied spectrum for the neighbours."""

from __future__ import annotations

import asyncio
from base64 import b64encode
from dataclasses import dataclass
from hashlib import sha256
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from starlette.responses import Response

from api.console import Console
from api.declared import NamePath, answers
from api.desk import DeskHere
from api.roles import Role, needs
from fleet.planning.handout.neighbours import for_neighbours
from fleet.planning.handout.page import STYLE, Print, plan_page
from fleet.planning.handout.tables import plan_as_csv, plan_as_json

router = APIRouter(prefix="/api/v1/plans", tags=["plans"])

Format = Literal["csv", "json", "page", "neighbours"]
WORDS_LENGTH_MAXIMUM = 100
Words = Annotated[str, Query(max_length=WORDS_LENGTH_MAXIMUM, description="for neighbours: said as it is")]
Time = Annotated[
    str,
    Query(pattern=r"^(\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?Z)?$", description="for neighbours: UTC as 2026-11-25T18:00Z"),
]
_HASH = b64encode(sha256(STYLE.encode()).digest()).decode()
PAGE_POLICY = f"default-src 'none'; style-src 'sha256-{_HASH}'; base-uri 'none'; frame-ancestors 'none'"
"""The page brings its own style and nothing else."""
_MEDIA = {
    "csv": ("text/csv; charset=utf-8", "csv"),
    "json": ("application/json", "json"),
    "page": ("text/html; charset=utf-8", "html"),
    "neighbours": ("application/json", "json"),
}
_CONTENT = {
    "description": "the file",
    "content": {kind: {"schema": {"type": "string"}} for kind in ("text/csv", "text/html", "application/json")},
}


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a list for neighbours says beside the frequencies."""

    place: str
    from_utc: str
    until_utc: str


@router.get(
    "/{name}/export",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses={
        **answers({"type": "string"}, also=("not-found", "journal-unavailable", "limit-reached", "not-possible-now")),
        200: _CONTENT,
    },
)
async def export_plan(
    *,
    desk: DeskHere,
    name: NamePath,
    format: Format,  # noqa: A002 - the name that the query has.
    place: Words = "",
    from_utc: Time = "",
    until_utc: Time = "",
) -> Response:
    """A plan as a file, with the caution in it: `csv`, `json`, `page` to print, or `neighbours`.

    What neighbours get holds frequencies and spacings alone: no parts, groups, channels or keys.
    """
    text = await _written(desk.console, name, format, _Asked(place, from_utc, until_utc))
    media, ending = _MEDIA[format]
    kind = "inline" if format == "page" else "attachment"
    suffix = "-neighbours" if format == "neighbours" else ""
    headers = {"Content-Disposition": f'{kind}; filename="{name}{suffix}.{ending}"'}
    if format == "page":
        headers["Content-Security-Policy"] = PAGE_POLICY
    return Response(text, media_type=media, headers=headers)


async def _written(console: Console, name: str, form: Format, asked: _Asked) -> str:
    plan, revision = await console.plans.plan(name)
    match form:
        case "csv":
            return plan_as_csv(plan)
        case "json":
            return plan_as_json(plan)
        case "neighbours":
            return for_neighbours(plan, asked.place, asked.from_utc, asked.until_utc)
        case "page":
            field = await console.plans.field(name, None) if plan.carriers else None
            return await asyncio.to_thread(plan_page, plan, _print(console, revision), field)


def _print(console: Console, revision: int) -> Print:
    at_utc_us = console.now().utc_us
    production, _ = console.editor.production()
    parts = {position.channel: f"{position.number} {position.part}" for position in production.positions}
    simulated = any(device.description is not None and device.description.simulated for device in console.devices())
    return Print(revision, at_utc_us, parts, simulated)
