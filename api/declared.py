"""What routes say of themselves in the OpenAPI document: answers, bodies and names in paths."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Path

from api.problems import KINDS, MEDIA_TYPE
from api.requests import StrictModel
from api.shapes import Schema, page_of, reference
from fleet.ids import ID_PATTERN

NamePath = Annotated[str, Path(pattern=f"^{ID_PATTERN}$", description="the last part of an address")]
Responses = dict[int | str, dict[str, Any]]

_ALWAYS = ("bad-header", "host-refused", "origin-refused", "body-too-large", "too-many-requests", "console-fault")
_WITH_SESSION = ("session-missing", "role-missing")
_WITH_BODY = ("unreadable-body", "media-type-refused", "invalid-request")


def answers(schema: Schema, status: int = 200, *, also: tuple[str, ...] = (), body: bool = False) -> Responses:
    """The answers of a route that needs a session: the good one, and the problems it may meet, by their codes."""
    return _all(schema, status, (*_ALWAYS, *_WITH_SESSION, *(_WITH_BODY if body else ()), *also))


def open_answers(schema: Schema, status: int = 200, *, also: tuple[str, ...] = (), body: bool = False) -> Responses:
    """The answers of a route that needs no session."""
    return _all(schema, status, (*_ALWAYS, *(_WITH_BODY if body else ()), *also))


def one(name: str) -> Schema:
    """One thing of that shape."""
    return reference(name)


def many(name: str) -> Schema:
    """A page of things of that shape."""
    return page_of(name)


def json_body(model: type[StrictModel]) -> dict[str, Any]:
    """The body that a route takes, for ``openapi_extra``."""
    return {"requestBody": {"required": True, "content": {"application/json": {"schema": schema_of(model)}}}}


def schema_of(model: type[StrictModel]) -> Schema:
    """The JSON Schema of a request."""
    return model.model_json_schema(ref_template="#/components/schemas/{model}")


def _all(schema: Schema, status: int, codes: tuple[str, ...]) -> Responses:
    content = {"content": {"application/json": {"schema": schema}}} if schema else {}
    found: Responses = {status: {"description": "Done.", **content}}
    for code in codes:
        kind = KINDS[code]
        answer = problem_answer(code)
        known = found.setdefault(kind.status, answer)
        if known is not answer:
            known["description"] = f"{known['description']} {answer['description']}"
    return found


def problem_answer(code: str) -> dict[str, Any]:
    """The answer that carries a problem of that code."""
    return {
        "description": f"{KINDS[code].title} (`{code}`).",
        "content": {MEDIA_TYPE: {"schema": reference("Problem")}},
    }
