"""The screen's files and the API's own page, all from this machine."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.staticfiles import StaticFiles

from api.paging import json_response
from api.problems import refusal
from api.roles import Role, needs

_NOT_BUILT = "The screen has not been built yet: run `./dev build`, then load this page again.\n"


def pages(screen: Path) -> APIRouter:
    """Routes for the built screen in that folder; each says in words when it is missing."""
    router = APIRouter(include_in_schema=False)
    files = StaticFiles(directory=screen, check_dir=False)

    async def shown(path: str, request: Request) -> Response:
        if not (screen / "index.html").is_file():
            return PlainTextResponse(_NOT_BUILT, 503)
        return await files.get_response(path, request.scope)

    @router.get("/", dependencies=[needs(Role.EVERYONE)])
    async def front(request: Request) -> Response:
        """The screen."""
        return await shown("index.html", request)

    @router.get("/api/docs", dependencies=[needs(Role.EVERYONE)])
    async def docs(request: Request) -> Response:
        """The API's own page."""
        return await shown("docs/index.html", request)

    @router.get("/api/v1/openapi.json", dependencies=[needs(Role.EVERYONE)])
    async def description(request: Request) -> Response:
        """The API's description."""
        return json_response(request.app.openapi())

    @router.get("/ui/{path:path}", dependencies=[needs(Role.EVERYONE)])
    async def asset(path: str, request: Request) -> Response:
        """One file of the screen."""
        if "\0" in path:
            raise refusal("not-found", "There is no such file.")
        return await shown(path, request)

    return router
