"""Reading a request's body: one JSON value, bounded, strict, finite, before any model sees it.

The door has already limited the size. What can't be read is 400; what has the wrong shape is 422 and never repeated.
"""

from __future__ import annotations

import json
import math
from collections.abc import Awaitable, Callable, Sequence
from functools import cache
from typing import Any, TypeVar

from pydantic import ValidationError
from starlette.requests import Request

from api.answers import FieldFault
from api.problems import RequestRefused, faults_problem, refusal
from api.requests import StrictModel
from fleet.model.fields import Value

DEPTH_MAXIMUM = 32
INTEGER_MAXIMUM = 2**53 - 1
"""The greatest integer every JSON reader agrees on (RFC 7493, section 2.2)."""
FIELDS_MAXIMUM = 32
FIELD_NAME_LENGTH_MAXIMUM = 64
FAULTS_SHOWN_MAXIMUM = 20
JSON_MEDIA_TYPES = frozenset({"application/json"})
PATCH_MEDIA_TYPES = frozenset({"application/merge-patch+json", "application/json"})

_EXPECTED_KINDS = "expected tags: "

Model = TypeVar("Model", bound=StrictModel)


def parse_json(data: bytes | str) -> object:
    """One JSON value of plain Python objects.

    Raises ValueError, in words, for what isn't UTF-8 or JSON, lies too deep, repeats a member, or holds a number that
    isn't finite or a text that isn't Unicode.
    """
    try:
        text = data if isinstance(data, str) else data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError("it is not UTF-8") from error
    try:
        value: object = json.loads(
            text,
            object_pairs_hook=_members,
            parse_constant=_no_constant,
            parse_float=_finite,
            parse_int=_bounded,
        )
    except RecursionError as error:
        raise ValueError(f"it is more than {DEPTH_MAXIMUM} deep") from error
    except json.JSONDecodeError as error:
        raise ValueError(f"it is not JSON (at character {error.pos})") from error
    _check(value)
    return value


def _members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise ValueError("an object names a member twice")
    return made


def _no_constant(_: str) -> float:
    raise ValueError("a number is not finite")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError("a number is not finite")
    return value


def _bounded(text: str) -> int:
    if len(text) > len(str(-INTEGER_MAXIMUM)) or abs(int(text)) > INTEGER_MAXIMUM:
        raise ValueError("an integer is beyond 2^53 - 1")
    return int(text)


def _check(value: object) -> None:
    """Walk the value without recursion; depth counts arrays and objects."""
    waiting = [(value, 1)]
    while waiting:
        item, depth = waiting.pop()
        if isinstance(item, str):
            _check_text(item)
        elif isinstance(item, list | dict):
            if depth > DEPTH_MAXIMUM:
                raise ValueError(f"it is more than {DEPTH_MAXIMUM} deep")
            if isinstance(item, dict):
                waiting.extend((name, depth) for name in item)
            waiting.extend((inner, depth + 1) for inner in (item.values() if isinstance(item, dict) else item))


def _check_text(text: str) -> None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise ValueError("a text holds half of a surrogate pair") from error


async def read_json(request: Request, media_types: frozenset[str]) -> object:
    """The body as plain objects.

    Raises RequestRefused: 415 for another kind of body, 400 for one that can't be read.
    """
    kind = request.headers.get("content-type", "").split(";", 1)[0].strip().lower()
    if kind not in media_types:
        raise refusal("media-type-refused", f"Send the body as {' or '.join(sorted(media_types))}.")
    try:
        return parse_json(await request.body())
    except ValueError as error:
        raise refusal("unreadable-body", f"The body can't be read: {error}.") from error


def body_of(model: type[Model]) -> Callable[[Request], Awaitable[Model]]:
    """A dependency that reads a body of that model."""

    async def read(request: Request) -> Model:
        return validated(model, await read_json(request, JSON_MEDIA_TYPES))

    return read


def validated(model: type[Model], value: object) -> Model:
    """The value as that model.

    Raises RequestRefused (422) that points at each fault.
    """
    try:
        return model.model_validate(value)
    except ValidationError as error:
        found = error.errors(include_url=False, include_context=False, include_input=False)
        faults = faults_of(found, frozenset(model.model_fields), _members_inside(model))
        raise RequestRefused(faults_problem(faults)) from error


@cache
def _members_inside(model: type[StrictModel]) -> frozenset[str]:
    """The names of the members of all shapes that a model is made of."""
    shapes = model.model_json_schema().get("$defs", {}).values()
    return frozenset(name for shape in shapes for name in shape.get("properties", ()))


def faults_of(
    found: Sequence[Any], known: frozenset[str], inside: frozenset[str] = frozenset()
) -> tuple[FieldFault, ...]:
    """Validation errors as pointers and reasons, without a word of what was sent.

    ``known`` are the names of ours that may be shown, ``inside`` those of members of members.
    """
    shown = [_fault(one, known, inside) for one in found[:FAULTS_SHOWN_MAXIMUM]]
    return tuple(dict.fromkeys(shown))


def _fault(one: Any, known: frozenset[str], inside: frozenset[str]) -> FieldFault:
    """Names that are the caller's own are left out of the pointer; the member above them is named instead."""
    path = [part for part in one["loc"] if isinstance(part, int) or part in known | inside]
    pointer = "".join(f"/{part}" for part in path)
    message = str(one["msg"])
    if one["type"] == "extra_forbidden":
        is_inside = len(one["loc"]) > 1
        told = "" if is_inside else f"; known are {', '.join(sorted(known))}"
        return FieldFault(pointer, f"has a member that is not known{told}")
    if one["type"] == "union_tag_invalid":
        return FieldFault(pointer, f"must be of one of the kinds {message.rpartition(_EXPECTED_KINDS)[2]}")
    return FieldFault(pointer, message[:1].lower() + message[1:])


def merge_patch_of(value: object) -> dict[str, Value]:
    """A merge patch (RFC 7396) of single settings.

    Settings can't be removed, so null is refused; lists and objects have no settings to stand for. Raises
    RequestRefused (422).
    """
    if not isinstance(value, dict):
        raise RequestRefused(faults_problem((FieldFault("", "must be an object of settings"),)))
    if not 0 < len(value) <= FIELDS_MAXIMUM:
        raise RequestRefused(faults_problem((FieldFault("", f"must name 1 to {FIELDS_MAXIMUM} settings"),)))
    faults = [FieldFault("", reason) for name, item in value.items() if (reason := _patch_fault(name, item))]
    if faults:
        raise RequestRefused(faults_problem(tuple(dict.fromkeys(faults))))
    return value


def _patch_fault(name: str, item: object) -> str:
    if not 0 < len(name) <= FIELD_NAME_LENGTH_MAXIMUM:
        return f"has a member whose name isn't 1 to {FIELD_NAME_LENGTH_MAXIMUM} characters long"
    if item is None:
        return "has a null; a setting can be changed, never removed"
    if isinstance(item, list | dict):
        return "has a list or an object; a setting is a number, a text, true or false"
    return ""
