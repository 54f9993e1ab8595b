"""The forms in which a production comes and goes: JSON, TOML, and the cast alone as CSV."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

from starlette.requests import Request
from starlette.responses import Response

from api.body import parse_json
from api.paging import json_response
from api.problems import refusal
from api.revision import entity_tag
from fleet.model.production import Production
from fleet.model.production_csv import read_cast, write_cast
from fleet.model.production_json import production_of_object
from fleet.model.production_toml import read_production, write_production


class Format(StrEnum):
    """How a production is shown."""

    JSON = "json"
    TOML = "toml"
    CSV = "csv"


_JSON, _TOML, _CSV = "application/json", "application/toml", "text/csv"
_BY_MEDIA_TYPE = {_TOML: Format.TOML, _CSV: Format.CSV, _JSON: Format.JSON}


def shown_production(production: Production, revision: int, asked: Format | None, accept: str | None) -> Response:
    """The production in the form that is asked for, else in the first that ``accept`` names, else as JSON."""
    headers = {"ETag": entity_tag(str(revision)), "Vary": "Accept"}
    match asked or _accepted(accept or ""):
        case Format.JSON:
            return json_response(production, 200, headers)
        case Format.TOML:
            return _file(write_production(production), _TOML, "production.toml", headers)
        case Format.CSV:
            return _file(write_cast(production), f"{_CSV}; header=present", "cast.csv", headers)


def _accepted(accept: str) -> Format:
    named = (part.partition(";")[0].strip().lower() for part in accept.split(","))
    return next((_BY_MEDIA_TYPE[kind] for kind in named if kind in _BY_MEDIA_TYPE), Format.JSON)


def _file(text: str, media_type: str, name: str, headers: dict[str, str]) -> Response:
    kept = {**headers, "Content-Disposition": f'attachment; filename="{name}"', "X-Content-Type-Options": "nosniff"}
    return Response(text.encode(), 200, kept, f"{media_type}; charset=utf-8")


async def given_production(request: Request, file: str) -> Callable[[Production], Production]:
    """What the body makes of the production that stands: JSON and TOML replace it, CSV replaces its cast.

    Raises RequestRefused: 415 for another kind of body, 400 for one that isn't text or JSON. What is wrong in the
    document is raised by the change itself, as InvalidDocument.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in _BY_MEDIA_TYPE:
        raise refusal("media-type-refused", f"Send the body as {', '.join(sorted(_BY_MEDIA_TYPE))}.")
    body = await request.body()
    if kind == _JSON:
        return _of_json(body, file)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise refusal("unreadable-body", "The body can't be read: it is not UTF-8.") from error
    if kind == _TOML:
        return lambda _: read_production(text, file)
    return lambda standing: read_cast(text, file, standing)


def _of_json(body: bytes, file: str) -> Callable[[Production], Production]:
    try:
        value = parse_json(body)
    except ValueError as error:
        raise refusal("unreadable-body", f"The body can't be read: {error}.") from error
    if not isinstance(value, dict):
        raise refusal("invalid-request", "The body must be an object.")
    return lambda _: production_of_object(value, file)
