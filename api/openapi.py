"""The OpenAPI document: routes as FastAPI sees them, shapes as the codec makes them, one shape for every error."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from api.declared import problem_answer
from api.roles import Role, role_table
from api.shapes import Schema, components

_METHODS = frozenset({"get", "put", "post", "delete", "patch"})
_ROLE_WORDS = {role: f"Needs the role {role}." for role in Role} | {Role.EVERYONE: "Needs no session."}
_DESCRIPTION = """
Watches and sets a fleet of networked radio-microphone receivers.

Enter by `POST /api/v1/session/login` with name and password, or by `POST /api/v1/session/launch` with the token of a
launch link; the cookie does the rest. Scripts send a token of their own as `Authorization: Bearer`, and no cookie.
Every error is a problem document (RFC 9457). Settings are changed by merge patch (RFC 7396) with the ETag that was read
as `If-Match`; the answer is 202 with a command, and only the device's own report confirms it. `/api/v1/live` is a
WebSocket with the whole picture and every change. Times ending in `_utc_us` are microseconds since 1970 in UTC.
""".strip()


def openapi_document(app: FastAPI, version: str) -> dict[str, Any]:
    """The document, made anew."""
    document = get_openapi(
        title="Redpoll",
        version=version,
        description=_DESCRIPTION,
        routes=app.routes,
        license_info={"name": "Apache-2.0", "identifier": "Apache-2.0"},
    )
    schemas = document.setdefault("components", {}).setdefault("schemas", {})
    for ours in ("HTTPValidationError", "ValidationError"):
        schemas.pop(ours, None)
    schemas.update(components())
    _share_shapes_of_bodies(document)
    document["components"]["securitySchemes"] = {
        "session": {"type": "apiKey", "in": "cookie", "name": _cookie(app)},
        "token": {"type": "http", "scheme": "bearer"},
    }
    _tell_roles(document, app)
    return document


def _share_shapes_of_bodies(document: Schema) -> None:
    """Put the shapes that bodies are made of among the shared ones, where their references look for them."""
    for operations in document["paths"].values():
        for operation in operations.values():
            for content in operation.get("requestBody", {}).get("content", {}).values():
                document["components"]["schemas"].update(content.get("schema", {}).pop("$defs", {}))


def _cookie(app: FastAPI) -> str:
    name: str = app.state.desk.cookie
    return name


def _tell_roles(document: Schema, app: FastAPI) -> None:
    """Give each operation its role, and where FastAPI adds a 422 of its own for parameters, put ours in its place."""
    roles = {(method, path): role for method, path, role in role_table(app.routes)}
    for path, operations in document["paths"].items():
        for method in _METHODS & operations.keys():
            operation = operations[method]
            role = roles[method.upper(), path]
            operation["x-role"] = role.value
            operation["description"] += f" {_ROLE_WORDS[role]}"
            operation["security"] = [] if role is Role.EVERYONE else [{"session": []}, {"token": []}]
            if "application/json" in operation["responses"].get("422", {}).get("content", {}):
                operation["responses"]["422"] = problem_answer("invalid-request")
