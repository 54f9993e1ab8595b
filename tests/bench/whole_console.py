"""A whole console to measure, or a bare pair in its place: ``python -m tests.bench.whole_console HOW PORT DEVICES``.

``console`` is the product: supervisor, pipeline, journal, feed, API. ``bare`` receives from as many sockets and
broadcasts ready bytes of the same length to whoever connects, with websockets alone. Prints its port and a cookie; each
line of its input that follows is answered with the processor seconds so far and the loop's lags since the last line.
"""

from __future__ import annotations

import asyncio
import gc
import json
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import uvloop
from websockets.asyncio.client import ClientConnection, connect
from websockets.asyncio.server import ServerConnection, broadcast, serve
from websockets.exceptions import ConnectionClosed
from websockets.typing import Subprotocol

from api.answers import PersonView
from api.app import create_app
from api.compose.console import console_desk
from api.door import loopback_only
from api.roles import Role, roles_up_to
from api.serving import console_server, loopback_socket
from fleet.adapters.adapter import Adapter, Sink, Transport
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import SystemClock
from fleet.config import DeviceAddress
from fleet.protocol.messages import SUBPROTOCOL
from fleet.runtime import Plan, Runtime
from tests.bench.ingest_device import greeting

CLOCK = SystemClock()
EVERY_S = 0.1
BARE_BYTES_A_CHANNEL = 200
"""What the console's binary frames of one tick come to for each channel of these receivers, as measured."""


class Greeted:
    """A socket whose other end has answered the greeting already."""

    def __init__(self, connection: ClientConnection, device_id: str) -> None:
        self._connection = connection
        self._answers = greeting(device_id)

    async def send(self, message: bytes) -> None:
        """Nothing but the greeting is ever sent here."""

    async def receive(self) -> bytes | str:
        if self._answers:
            return self._answers.pop(0)
        try:
            return await self._connection.recv(decode=False)
        except ConnectionClosed as ended:
            raise ConnectionError(str(ended)) from ended

    async def close(self) -> None:
        await self._connection.close()


async def opened(port: int) -> ClientConnection:
    names = [Subprotocol(SUBPROTOCOL)]
    url = f"ws://127.0.0.1:{port}"
    connection = await connect(url, subprotocols=names, compression=None, proxy=None)
    await connection.send("go")
    return connection


async def answer_lines() -> None:
    """Answer each line of the input until its end; the lag is how late a timer of 10 ms comes."""
    lags_ms: list[float] = []
    loop = asyncio.get_running_loop()

    async def watch() -> None:
        while True:
            began = time.monotonic()
            await CLOCK.sleep(0.01)
            lags_ms.append(1_000 * (time.monotonic() - began - 0.01))

    watching = asyncio.create_task(watch())
    while await loop.run_in_executor(None, sys.stdin.readline):
        cuts = np.quantile(lags_ms, (0.5, 0.99, 1.0)).round(2).tolist() if lags_ms else []
        lags_ms.clear()
        print(json.dumps({"processor_s": time.process_time(), "lags_ms": cuts}), flush=True)
    watching.cancel()


async def console(port: int, devices: int) -> None:
    def make_adapter(device: DeviceAddress, sink: Sink) -> Adapter:
        async def way(_url: str) -> Transport:
            return Greeted(await opened(port), device.device_id)

        return OpenJsonAdapter(device, way, CLOCK, sink)

    def make_contacts(sink: Sink) -> Supervisor:
        return Supervisor(CLOCK, np.random.default_rng(1), sink, make_adapter)

    listed = tuple(DeviceAddress(f"rack-{number}", f"ws://127.0.0.1:{port}") for number in range(devices))
    with tempfile.TemporaryDirectory() as folder, loopback_socket(0) as listening:
        listening.listen()
        plan = Plan(f"sqlite:///{Path(folder) / 'journal.sqlite3'}", make_contacts, "bench", listed)
        runtime = await Runtime.start(plan, CLOCK)
        own_port: int = listening.getsockname()[1]
        desk = await console_desk(runtime, CLOCK, own_port)
        secret, _ = desk.sessions.open(PersonView("Bench", roles_up_to(Role.VIEWER)))
        server = console_server(create_app(desk, loopback_only(own_port)), desk)
        serving = asyncio.create_task(server.serve(sockets=[listening]))
        gc.freeze()
        print(json.dumps({"port": own_port, "cookie": f"{desk.cookie}={secret}"}), flush=True)
        await answer_lines()
        server.should_exit = True
        await serving
        await runtime.stop()


async def bare(port: int, devices: int) -> None:
    screens: set[ServerConnection] = set()
    ready = b"\x01" * (BARE_BYTES_A_CHANNEL * 2 * devices)

    async def hold(screen: ServerConnection) -> None:
        screens.add(screen)
        await screen.wait_closed()
        screens.discard(screen)

    async def receive(connection: ClientConnection) -> None:
        while True:
            await connection.recv(decode=False)

    async def send() -> None:
        while True:
            await CLOCK.sleep(EVERY_S)
            broadcast(screens, ready)

    connections = [await opened(port) for _ in range(devices)]
    tasks = [asyncio.create_task(receive(connection)) for connection in connections] + [asyncio.create_task(send())]
    async with serve(hold, "127.0.0.1", 0, compression=None) as server:
        gc.freeze()
        print(json.dumps({"port": next(iter(server.sockets)).getsockname()[1], "cookie": "none=0"}), flush=True)
        await answer_lines()
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
    await asyncio.gather(*(connection.close() for connection in connections))


if __name__ == "__main__":
    uvloop.run({"console": console, "bare": bare}[sys.argv[1]](int(sys.argv[2]), int(sys.argv[3])))
