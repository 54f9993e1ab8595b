"""One WebSocket into an application without a server, so that it runs on virtual time."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from starlette.types import ASGIApp, Message

from tests.api.conftest import COOKIE, PORT, SITE


class Client:
    """A browser's end: what it sent and what it was told."""

    def __init__(self) -> None:
        self.to_app: asyncio.Queue[Message] = asyncio.Queue()
        self.from_app: asyncio.Queue[Message] = asyncio.Queue()
        self.taking = asyncio.Event()
        self.taking.set()
        self.to_app.put_nowait({"type": "websocket.connect"})

    async def send(self, message: Message) -> None:
        """The application's send: waits while the client takes nothing."""
        await self.taking.wait()
        self.from_app.put_nowait(message)

    def say(self, body: object) -> None:
        """Send one text message."""
        text = body if isinstance(body, str) else json.dumps(body)
        self.to_app.put_nowait({"type": "websocket.receive", "text": text})

    def go(self) -> None:
        """Close the browser's window."""
        self.to_app.put_nowait({"type": "websocket.disconnect", "code": 1001})

    async def hear(self) -> Message:
        """The next thing the application sends."""
        async with asyncio.timeout(60.0):
            return await self.from_app.get()

    async def hear_json(self) -> Any:
        """The next thing, which must be text."""
        message = await self.hear()
        assert message["type"] == "websocket.send", message
        return json.loads(message["text"])

    async def hear_binary(self) -> bytes:
        """The next thing, which must be bytes."""
        message = await self.hear()
        assert message["type"] == "websocket.send", message
        data: bytes = message["bytes"]
        return data

    async def hear_end(self) -> tuple[str, int]:
        """Everything up to the close: the reason of the bye, and the code."""
        reason = ""
        while True:
            message = await self.hear()
            if message["type"] == "websocket.close":
                return reason, message["code"]
            if message.get("text"):
                body = json.loads(message["text"])
                reason = body["reason"] if body["type"] == "bye" else reason


def scope(secret: str | None, **headers: str) -> dict[str, Any]:
    """A WebSocket request as a browser at our own page makes it; ``headers`` replace some."""
    sent = {"host": f"127.0.0.1:{PORT}", "origin": SITE, **headers}
    if secret is not None:
        sent["cookie"] = f"{COOKIE}={secret}"
    return {
        "type": "websocket",
        "asgi": {"version": "3.0", "spec_version": "2.4"},
        "http_version": "1.1",
        "scheme": "ws",
        "path": "/api/v1/live",
        "raw_path": b"/api/v1/live",
        "root_path": "",
        "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in sent.items() if value],
        "client": ("127.0.0.1", 50_000),
        "server": ("127.0.0.1", PORT),
        "subprotocols": [],
        "state": {},
        "extensions": {"websocket.http.response": {}},
    }


@asynccontextmanager
async def connected(app: ASGIApp, secret: str | None, **headers: str) -> AsyncIterator[Client]:
    """A connection, ended when the block is left."""
    client = Client()

    async def run() -> None:
        await app(scope(secret, **headers), client.to_app.get, client.send)

    task = asyncio.create_task(run())
    try:
        yield client
    finally:
        client.taking.set()
        client.go()
        async with asyncio.timeout(60.0):
            await task
