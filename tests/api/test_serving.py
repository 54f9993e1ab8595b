"""The application on real sockets: what only a real server and a real client can show."""

from __future__ import annotations

import asyncio
import itertools
import json
import socket
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager

import pytest
import websockets
from starlette.websockets import WebSocket
from websockets.asyncio.client import ClientConnection, connect

from api import live as live_module
from api.app import create_app
from api.desk import Desk
from api.door import RateBound, loopback_only
from api.roles import Role
from api.security import Launches, Sessions
from api.serving import LOOPBACK, ConsoleServer, console_server, loopback_socket
from fleet.clock import SystemClock
from fleet.errors import PortTaken
from fleet.model.event import NoticeReceived, Recorded
from tests.api.conftest import Stage
from tests.api.fake_console import FakeConsole
from tests.api.people_in_memory import PeopleInMemory, accounts_in_memory


@asynccontextmanager
async def served() -> AsyncIterator[tuple[Stage, ConsoleServer, int]]:
    """A console on a free port of loopback."""
    clock = SystemClock()
    listening = loopback_socket()
    port = listening.getsockname()[1]
    console = FakeConsole(clock)
    sessions, people = Sessions(clock), PeopleInMemory()
    accounts = accounts_in_memory(clock, sessions, console.note, people)
    desk = Desk(console, sessions, Launches(clock), clock, f"redpoll-session-{port}", "0.1.0", accounts)
    app = create_app(desk, loopback_only(port), rate=RateBound(clock))
    server = console_server(app, desk)
    serving = asyncio.create_task(server.serve(sockets=[listening]))
    try:
        while not server.started:
            await clock.sleep(0.01)
        yield Stage(console, clock, desk, app, people), server, port
    finally:
        server.should_exit = True
        await serving


@asynccontextmanager
async def watching(stage: Stage, port: int) -> AsyncIterator[ClientConnection]:
    """A live connection that has its snapshot."""
    headers = {"Cookie": f"{stage.desk.cookie}={stage.cookie(Role.VIEWER)}"}
    url = f"ws://{LOOPBACK}:{port}/api/v1/live"
    origin = websockets.Origin(f"http://{LOOPBACK}:{port}")
    async with connect(url, additional_headers=headers, origin=origin, close_timeout=0.2) as live:
        await live.send(json.dumps({"type": "subscribe"}))
        assert json.loads(await live.recv())["type"] == "snapshot"
        yield live


async def ask(port: int, request: bytes) -> bytes:
    """Send raw bytes and take what comes until the server closes."""
    reader, writer = await asyncio.open_connection(LOOPBACK, port)
    writer.write(request)
    try:
        async with asyncio.timeout(10.0):
            return await reader.read()
    finally:
        writer.close()


def test_a_real_browser_s_connection_is_uncompressed_and_hears_goodbye() -> None:
    async def act() -> None:
        async with served() as (stage, server, port), watching(stage, port) as live:
            assert "Sec-WebSocket-Extensions" not in (live.response.headers if live.response else {})
            server.should_exit = True
            heard = [message async for message in live]
            texts = [json.loads(message) for message in heard if isinstance(message, str)]
            assert texts[-1] == {"type": "bye", "reason": "the console is stopping"}
            assert live.close_code == 1001

    asyncio.run(act())


def test_a_frozen_client_makes_the_server_hold_little_and_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """On loopback the kernel would take megabytes for a client that reads nothing, were its buffer not bounded."""
    sent: list[int] = []
    send = live_module._send

    async def counted(websocket: WebSocket, pieces: Sequence[str | bytes]) -> None:
        await send(websocket, pieces)
        sent.append(sum(len(piece) for piece in pieces))

    monkeypatch.setattr(live_module, "_send", counted)
    monkeypatch.setattr(live_module, "SEND_WITHIN_S", 0.2)

    async def act() -> None:
        async with served() as (stage, _, port), watching(stage, port) as frozen:
            frozen.transport.pause_reading()
            feed = stage.console.feed
            for sequence in itertools.count(2):
                notice = NoticeReceived(stage.console.now(), "house-1", "long", "x" * 60_000)
                batch = feed.capture((Recorded(sequence, notice),))
                assert batch is not None
                feed.publish(batch)
                await stage.clock.sleep(0.001)
                if stage.desk.live.open == 0:
                    break
            assert 60_000 < sum(sent) < 2_000_000
            frozen.transport.resume_reading()

    asyncio.run(act())
    print(f"a frozen client was sent {sum(sent)} bytes before sending blocked")


def test_another_site_s_page_gets_no_live_connection() -> None:
    async def act() -> None:
        async with served() as (stage, _, port):
            url = f"ws://{LOOPBACK}:{port}/api/v1/live"
            headers = {"Cookie": f"{stage.desk.cookie}={stage.cookie(Role.ENGINEER)}"}
            with pytest.raises(websockets.InvalidStatus) as refused:
                await connect(url, additional_headers=headers, origin=websockets.Origin("http://tern-rock.example"))
            answer = refused.value.response
            assert answer.status_code == 403
            assert json.loads(answer.body)["code"] == "origin-refused"
            assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")

    asyncio.run(act())


def test_a_huge_body_is_refused_before_it_is_sent() -> None:
    async def act() -> None:
        async with served() as (_, _, port):
            head = (
                f"POST /api/v1/session/launch HTTP/1.1\r\nHost: {LOOPBACK}:{port}\r\nContent-Length: 60000000\r\n\r\n"
            )
            answer = await ask(port, head.encode())
            assert answer.startswith(b"HTTP/1.1 413 ")
            assert b'"code":"body-too-large"' in answer

    asyncio.run(act())


@pytest.mark.parametrize(
    "request_bytes",
    [
        b"\x00\x01\x02\r\n\r\n",
        b"GET / HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: tern.example\r\nConnection: close\r\n\r\n",
        b"GET /%ff%fe%00 HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n",
        b"GET /api/v1/devices?limit=%ed%a0%80 HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: {host}\r\nX: " + b"x" * 70_000,
        b"POST / HTTP/1.1\r\nHost: {host}\r\nContent-Length: -5\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: {host}\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    ],
)
def test_garbage_on_the_wire_is_a_4xx(request_bytes: bytes) -> None:
    async def act() -> None:
        async with served() as (_, _, port):
            answer = await ask(port, request_bytes.replace(b"{host}", f"{LOOPBACK}:{port}".encode()))
            assert answer.startswith(b"HTTP/1.1 4"), answer[:200]

    asyncio.run(act())


def test_a_taken_port_is_said_in_words() -> None:
    with loopback_socket() as taken:
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(PortTaken, match=str(port)):
            loopback_socket(port)


def test_only_loopback_is_bound_and_little_may_wait_for_a_client() -> None:
    with loopback_socket() as listening:
        assert listening.getsockname()[0] == "127.0.0.1"
        assert listening.getsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF) <= 1_048_576
