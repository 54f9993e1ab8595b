"""A request as plain JSON values, which a plan document holds: written as TOML, and read by the rules of that.

There is one reader of requests, so that a file and a document never mean different things.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from fleet.errors import InvalidDocument
from fleet.planning.coordination.request import Request, read_request

DEPTH_MAXIMUM = 8
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def request_of_values(values: Mapping[str, Any], file: str) -> Request:
    """The request in plain JSON values; ``file`` names them in errors.

    Raises InvalidDocument with the key and what was expected there; unknown keys and nulls are refused.
    """
    return read_request(request_text(values, file), file)


def request_text(values: Mapping[str, Any], file: str = "request") -> str:
    """The values as a TOML file of the same meaning. Raises InvalidDocument for what TOML can't say."""
    lines: list[str] = []
    tables: list[str] = []
    for key, value in values.items():
        if isinstance(value, list) and value and all(isinstance(each, Mapping) for each in value):
            for each in value:
                tables += [f"[[{_key(key)}]]", *_members(each, (file, key)), ""]
        elif isinstance(value, Mapping):
            tables += [f"[{_key(key)}]", *_members(value, (file, key)), ""]
        else:
            lines.append(f"{_key(key)} = {_value(value, (file, key), 1)}")
    return "\n".join([*lines, "", *tables])


def _members(table: Mapping[str, Any], where: tuple[str, str]) -> list[str]:
    file, path = where
    return [f"{_key(key)} = {_value(value, (file, f'{path}.{key}'), 2)}" for key, value in table.items()]


def _value(value: object, where: tuple[str, str], depth: int) -> str:
    """A value in one line. JSON's numbers, true, false and texts are TOML's, but for the delete character."""
    if depth > DEPTH_MAXIMUM:
        raise InvalidDocument(*where, f"at most {DEPTH_MAXIMUM} deep")
    if isinstance(value, Mapping):
        inner = (
            f"{_key(key)} = {_value(each, (where[0], f'{where[1]}.{key}'), depth + 1)}" for key, each in value.items()
        )
        return f"{{ {', '.join(inner)} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(each, where, depth + 1) for each in value)}]"
    if value is None:
        raise InvalidDocument(*where, "a value, or leave the key out", "null")
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _key(key: str) -> str:
    """A key as it is, or as a text where it isn't bare."""
    return key if _BARE_KEY.fullmatch(key) else _value(key, ("request", "key"), 1)
