"""The device protocol as an AsyncAPI 3.0 document, from the same shapes as its JSON Schema.

It is told from the device's side, which listens: it receives requests and sends answers and notifications, all over one
channel.
"""

from __future__ import annotations

import json
from typing import Any

from fleet.protocol import messages

_CHANNEL = "#/channels/conversation"


def document(schema: dict[str, Any]) -> dict[str, Any]:
    """The document for the JSON Schema that ``fleet.protocol.schema`` makes."""
    components = _moved(schema["$defs"])
    names = [name for name in components if name.endswith(("_request", "_result", "_response", "_notification"))]
    return {
        "asyncapi": "3.0.0",
        "info": {
            "title": "Redpoll device protocol",
            "version": messages.VERSIONS[0],
            "description": "JSON-RPC 2.0 over WebSocket. The specification beside this document has the last word.",
        },
        "defaultContentType": "application/json",
        "servers": {
            "device": {
                "host": "localhost:7373",
                "protocol": "ws",
                "description": f"Any device; port and path are its own. Subprotocol {messages.SUBPROTOCOL}.",
            }
        },
        "channels": {
            "conversation": {
                "address": "/",
                "messages": {name: {"$ref": f"#/components/messages/{name}"} for name in names},
            }
        },
        "operations": {**_requests(), **_notifications()},
        "components": {
            "messages": {name: _message(name) for name in names},
            "schemas": {name: component for name, component in components.items() if not name.startswith("from_")},
        },
    }


def text_of(schema: dict[str, Any]) -> str:
    """The document as it stands in its file."""
    return json.dumps(document(schema), indent=2, ensure_ascii=False) + "\n"


def _moved(part: Any) -> Any:
    """The definitions with their references led to where they stand in this document."""
    if isinstance(part, list):
        return [_moved(item) for item in part]
    if not isinstance(part, dict):
        return part
    moved = {key: _moved(value) for key, value in part.items()}
    if isinstance(part.get("$ref"), str):
        moved["$ref"] = part["$ref"].replace("#/$defs/", "#/components/schemas/")
    return moved


def _message(name: str) -> dict[str, Any]:
    payload = {
        "schemaFormat": "application/schema+json;version=draft-07",
        "schema": {"$ref": f"#/components/schemas/{name}"},
    }
    return {"name": name, "title": name.replace("_", " "), "payload": payload}


def _requests() -> dict[str, Any]:
    """Each request is received, and answered well or with an error."""
    return {
        name: {
            "action": "receive",
            "channel": {"$ref": _CHANNEL},
            "messages": [_in_channel(f"{name}_request")],
            "reply": {
                "channel": {"$ref": _CHANNEL},
                "messages": [_in_channel(f"{name}_result"), _in_channel("error_response")],
            },
        }
        for name in messages.REQUESTS
    }


def _notifications() -> dict[str, Any]:
    return {
        name: {
            "action": "send",
            "channel": {"$ref": _CHANNEL},
            "messages": [_in_channel(f"{name}_notification")],
        }
        for name in messages.NOTIFICATIONS
    }


def _in_channel(name: str) -> dict[str, str]:
    return {"$ref": f"{_CHANNEL}/messages/{name}"}
