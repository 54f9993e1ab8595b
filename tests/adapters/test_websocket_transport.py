"""The transport over real sockets on loopback."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from http import HTTPStatus

import pytest
from websockets.asyncio.server import Server, ServerConnection, serve
from websockets.datastructures import Headers
from websockets.http11 import Request, Response
from websockets.typing import Subprotocol

from fleet.adapters.open_json import OpenJsonAdapter
from fleet.clock import LoopClock
from fleet.config import DeviceAddress
from fleet.errors import MalformedMessage
from fleet.model.observation import Answer
from fleet.protocol.messages import SUBPROTOCOL
from tests.adapters.fake_device import FakeDevice
from tests.adapters.rig import DEVICE_ID, Heard, command
from tests.adapters.way import connect_websocket

Served = Callable[[ServerConnection], Awaitable[None]]


class ServedTransport:
    """The device's end of a socket, as the interface of transports has it."""

    def __init__(self, connection: ServerConnection) -> None:
        self._connection = connection

    async def send(self, message: bytes) -> None:
        await self._connection.send(message, text=True)

    async def receive(self) -> bytes | str:
        async for message in self._connection:
            return message
        raise ConnectionError("the console closed the connection")

    async def close(self) -> None:
        await self._connection.close()


@asynccontextmanager
async def server(handle: Served, subprotocol: str = SUBPROTOCOL) -> AsyncIterator[str]:
    names = [Subprotocol(subprotocol)]
    async with serve(handle, "127.0.0.1", 0, subprotocols=names, compression=None) as running:
        yield url_of(running)


def url_of(running: Server) -> str:
    port = next(iter(running.sockets)).getsockname()[1]
    return f"ws://127.0.0.1:{port}/"


def test_a_whole_contact_over_a_socket() -> None:
    async def main() -> None:
        clock = LoopClock(0)
        device = FakeDevice(DEVICE_ID, clock)
        heard = Heard()

        async def handle(connection: ServerConnection) -> None:
            await device.serve(ServedTransport(connection))

        async with server(handle) as url, asyncio.timeout(10.0):
            adapter = OpenJsonAdapter(DeviceAddress(DEVICE_ID, url), connect_websocket, clock, heard)
            await adapter.connect()
            running = asyncio.create_task(adapter.run())
            await adapter.write(command())
            while not any(a.answer is Answer.DONE for item in heard.observations for a in item.answers):
                await clock.sleep(0.005)
            running.cancel()
            await asyncio.gather(running, return_exceptions=True)
            await adapter.close()
        assert heard.contacts[0].description == device.description
        assert heard.frames[0].values[0] == -55.0
        assert heard.reports[-1].settings == {"low_cut_hz": 120}

    asyncio.run(main())


async def send_and_close(connection: ServerConnection, *messages: str | bytes) -> None:
    for message in messages:
        await connection.send(message)
    await connection.close()


def received(*messages: str | bytes) -> list[bytes | str]:
    """What a console receives of a server that sends these and closes; the last receive raises."""
    got: list[bytes | str] = []

    async def main() -> None:
        async with server(lambda connection: send_and_close(connection, *messages)) as url, asyncio.timeout(10.0):
            transport = await connect_websocket(url)
            try:
                while True:
                    got.append(await transport.receive())
            finally:
                await transport.close()

    with pytest.raises(ConnectionError, match="the device closed the connection"):
        asyncio.run(main())
    return got


def test_messages_come_whole_and_the_end_in_words() -> None:
    assert received("one", "zwei") == [b"one", b"zwei"]
    assert received("x" * (1 << 20)) == [b"x" * (1 << 20)]


def test_a_message_beyond_the_limit_is_malformed() -> None:
    with pytest.raises(MalformedMessage, match="broke the transport's rules"):
        received("x" * ((1 << 20) + 1))


def refusal_of(url: str) -> str:
    with pytest.raises(OSError, match=r"connect|Connect|not called") as caught:
        asyncio.run(connect_websocket(url))
    return str(caught.value)


def test_nobody_there_is_said_in_words() -> None:
    async def free_port() -> str:
        async with serve(send_and_close, "127.0.0.1", 0) as running:
            return url_of(running)

    url = asyncio.run(free_port())
    assert "refused" in refusal_of(url) or "Connect call failed" in refusal_of(url)
    assert "ws:// or wss://" in refusal_of("http://127.0.0.1/")


@pytest.mark.parametrize("location", ["ws://localhost:1/elsewhere", "wss://127.0.0.1:1/", "ws://192.0.2.1/"])
def test_no_redirect_leads_elsewhere(location: str) -> None:
    def redirect(_connection: ServerConnection, _request: Request) -> Response:
        return Response(HTTPStatus.FOUND, "Found", Headers(Location=location), b"")

    async def main() -> None:
        async with serve(send_and_close, "127.0.0.1", 0, process_request=redirect) as running:
            with pytest.raises(ConnectionError, match="nothing there speaks"):
                await connect_websocket(url_of(running))

    asyncio.run(main())


def test_a_server_of_another_protocol_is_refused() -> None:
    async def main() -> None:
        async with server(send_and_close, "something.else") as url:
            with pytest.raises(ConnectionError, match="nothing there speaks"):
                await connect_websocket(url)

    asyncio.run(main())
