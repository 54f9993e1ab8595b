"""A small client of the console's own interface, with nothing but the standard library.

The check and the demonstration use what any program could use: there is no private way in.
"""

from __future__ import annotations

import asyncio
import http.cookiejar
import json
import urllib.error
import urllib.request
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from fleet.errors import RedpollError

ANSWER_WITHIN_SECONDS = 5.0


class ConsoleRefused(RedpollError):
    """The console answered with a problem."""

    def __init__(self, method: str, path: str, status: int, detail: str) -> None:
        self.status = status
        super().__init__(f"{method} {path}: {status} {detail}")


@dataclass(frozen=True, slots=True)
class Reply:
    """A status, the entity tag without its quotes, and the decoded body."""

    status: int
    entity_tag: str
    body: Any


class ConsoleClient:
    """One session with a console."""

    def __init__(self, link: str) -> None:
        parts = urlsplit(link)
        self._origin = f"{parts.scheme}://{parts.netloc}"
        self._token = parts.fragment.removeprefix("launch=")
        cookies = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self._opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), cookies)

    async def enter(self) -> None:
        """Exchange the launch link for a session."""
        await self.call("POST", "session/launch", {"token": self._token})

    async def items(self, path: str) -> list[dict[str, Any]]:
        """The first page of a list."""
        reply = await self.call("GET", path)
        found: list[dict[str, Any]] = reply.body["items"]
        return found

    async def call(
        self, method: str, path: str, body: Mapping[str, object] | None = None, *, entity_tag: str | None = None
    ) -> Reply:
        """One request below ``/api/v1/``.

        Raises ConsoleRefused for any answer from 400 up.
        """
        return await asyncio.to_thread(self._call, method, path, body, entity_tag)

    def _call(self, method: str, path: str, body: Mapping[str, object] | None, entity_tag: str | None) -> Reply:
        headers = {"Accept": "application/json"}
        data = None
        if body is not None:
            data = json.dumps(body).encode()
            headers["Content-Type"] = "application/json"
        if entity_tag is not None:
            headers["If-Match"] = f'"{entity_tag}"'
        request = urllib.request.Request(  # noqa: S310 - the address is our own console's, on loopback.
            f"{self._origin}/api/v1/{path}", data=data, headers=headers, method=method
        )
        try:
            with self._opener.open(request, timeout=ANSWER_WITHIN_SECONDS) as answer:
                content = answer.read()
                tag = (answer.headers.get("ETag") or "").strip('"')
                return Reply(answer.status, tag, json.loads(content) if content else None)
        except urllib.error.HTTPError as error:
            raise ConsoleRefused(method, path, error.code, _detail_of(error.read())) from error


def _detail_of(content: bytes) -> str:
    try:
        problem = json.loads(content)
    except ValueError:
        return content[:200].decode(errors="replace")
    return str(problem.get("detail") or problem.get("title") or problem)
