"""The JSON Schema of the device protocol, made from the structs that the codec reads and writes.

``python -m fleet.protocol.schema --write`` brings docs/protocol up to date, ``--check`` says whether it is (exit 1
when not): the schema and the AsyncAPI document whole, and the generated parts of the specification.
"""

from __future__ import annotations

import argparse
import inspect
import json
import sys
from pathlib import Path
from typing import Any

import msgspec

from fleet.protocol import asyncapi, messages
from fleet.protocol.codec import ErrorBody
from fleet.protocol.document import with_generated_parts

DOCUMENTS = Path(__file__).parents[2] / "docs" / "protocol"
SCHEMA_FILE = "device-1.0.schema.json"
SPECIFICATION_FILE = "device-1.0.md"
ASYNCAPI_FILE = "device-1.0.asyncapi.json"
_REQUEST_ID = {"type": "integer", "minimum": 0, "maximum": messages.EXACT_INTEGER_MAXIMUM}
_VERSION_MEMBER = {"const": "2.0"}


def schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of every message that may travel, in either direction."""
    definitions = {**_bodies(), **_requests(), **_responses(), **_notifications()}
    ways = {
        "from_console": {"anyOf": [_reference(name) for name in _requests()]},
        "from_device": {"anyOf": [_reference(name) for name in (*_responses(), *_notifications())]},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:redpoll:device:1.0",
        "title": "Redpoll device protocol 1.0",
        "description": "One text frame of the WebSocket subprotocol redpoll.device.1. Unknown members are ignored.",
        "anyOf": [_reference(name) for name in ways],
        "$defs": {**ways, **definitions},
    }


def schema_text() -> str:
    """The schema as it stands in its file."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def _bodies() -> dict[str, Any]:
    groups = (messages.REQUESTS, messages.RESULTS, messages.NOTIFICATIONS)
    shapes = [shape for group in groups for shape in group.values()]
    _, components = msgspec.json.schema_components([*shapes, ErrorBody], ref_template="#/$defs/{name}")
    return {name: _tidied(component) for name, component in components.items()}


def _tidied(part: Any) -> Any:
    """Descriptions without indentation; patterns without the guard that only Python's ``$`` needs."""
    if isinstance(part, list):
        return [_tidied(item) for item in part]
    if not isinstance(part, dict):
        return part
    tidied = {key: _tidied(value) for key, value in part.items()}
    if isinstance(part.get("pattern"), str):
        tidied["pattern"] = part["pattern"].replace("(?!\n)", "")
    if isinstance(part.get("description"), str):
        tidied["description"] = inspect.cleandoc(part["description"]).replace("``", "`")
    return tidied


def _requests() -> dict[str, Any]:
    return {
        f"{name}_request": _message(id=_REQUEST_ID, method={"const": name}, params=_reference(shape.__name__))
        for name, shape in messages.REQUESTS.items()
    }


def _responses() -> dict[str, Any]:
    answers = {
        f"{name}_result": _message(id=_REQUEST_ID, result=_reference(shape.__name__))
        for name, shape in messages.RESULTS.items()
    }
    no_id = {"anyOf": [_REQUEST_ID, {"type": "null"}]}
    return {**answers, "error_response": _message(id=no_id, error=_reference(ErrorBody.__name__))}


def _notifications() -> dict[str, Any]:
    return {
        f"{name}_notification": _message(method={"const": name}, params=_reference(shape.__name__))
        for name, shape in messages.NOTIFICATIONS.items()
    }


def _message(**members: Any) -> dict[str, Any]:
    properties = {"jsonrpc": _VERSION_MEMBER, **members}
    foreign = [name for name in ("id", "method", "result", "error") if name not in members]
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "not": {"anyOf": [{"required": [name]} for name in foreign]},
    }


def _reference(name: str) -> dict[str, str]:
    return {"$ref": f"#/$defs/{name}"}


def outdated(folder: Path) -> dict[Path, str]:
    """Files that aren't as they should be, with what they should hold."""
    specification = folder / SPECIFICATION_FILE
    written = specification.read_text(encoding="utf-8") if specification.exists() else ""
    wanted = {
        folder / SCHEMA_FILE: schema_text(),
        folder / ASYNCAPI_FILE: asyncapi.text_of(schema()),
        specification: with_generated_parts(written),
    }
    return {path: text for path, text in wanted.items() if not _holds(path, text)}


def _holds(path: Path, text: str) -> bool:
    return path.exists() and path.read_text(encoding="utf-8") == text


def main(arguments: list[str], folder: Path = DOCUMENTS) -> int:
    """Write or check the generated documents; the exit code."""
    parser = argparse.ArgumentParser(prog="python -m fleet.protocol.schema", description=__doc__)
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--write", action="store_true", help="bring the documents up to date")
    way.add_argument("--check", action="store_true", help="exit with 1 when they are not")
    chosen = parser.parse_args(arguments)
    old = outdated(folder)
    for path, text in old.items():
        if chosen.write:
            path.write_text(text, encoding="utf-8")
        sys.stdout.write(f"{'wrote' if chosen.write else 'out of date:'} {path.name}\n")
    return 1 if old and chosen.check else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
