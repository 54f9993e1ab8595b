from __future__ import annotations

import asyncio
import json
import socket

import pytest
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.typing import Origin

from fleet.clock import ManualClock
from fleet.errors import PortTaken
from fleet.protocol import messages
from simulator.scenario_checks import load
from simulator.server import BACKLOG_MAXIMUM, CLIENTS_PER_DEVICE, SimulatorServer
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.remote_desk import SUBPROTOCOL, RemoteDesk, plain_connect, running
from tests.simulator.small_stage import channel_text, receiver_text, scenario, two_channels

WITHIN_S = 20.0


def _two_receivers() -> VirtualFleet:
    return VirtualFleet(
        scenario(receiver_text("rack-1", channel_text("p1")), receiver_text("rack-2", channel_text("p2", 521_000_000))),
        1,
    )


async def _closed(connection: ClientConnection) -> str:
    """Read until the other end closes; the reason it gives."""
    async with asyncio.timeout(WITHIN_S):
        try:
            while True:
                await connection.recv()
        except ConnectionClosed as closed:
            return closed.rcvd.reason if closed.rcvd is not None else ""


async def test_each_receiver_has_a_port_of_its_own_below_32768() -> None:
    server = SimulatorServer(_two_receivers(), ManualClock())
    try:
        listening = await server.start()
    finally:
        await server.stop()
    assert [place.device_id for place in listening] == ["rack-1", "rack-2"]
    ports = [int(place.url.rpartition(":")[2]) for place in listening]
    assert len(set(ports)) == 2
    assert all(1024 < port < 32_768 for port in ports)


async def test_a_named_port_that_is_taken_fails_in_words_and_leaves_nothing() -> None:
    first = SimulatorServer(_two_receivers(), ManualClock())
    try:
        listening = await first.start()
        taken = int(listening[1].url.rpartition(":")[2])
        free = SimulatorServer(_two_receivers(), ManualClock(), port_start=taken)
        with pytest.raises(PortTaken, match=str(taken)):
            await free.start()
    finally:
        await first.stop()


async def test_a_taken_port_is_passed_over_when_none_is_named() -> None:
    first, second = (SimulatorServer(_two_receivers(), ManualClock()) for _ in range(2))
    try:
        urls = {place.url for server in (first, second) for place in await server.start()}
    finally:
        await first.stop()
        await second.stop()
    assert len(urls) == 4


async def _refused_with(attempt: connect) -> int:
    with pytest.raises(InvalidStatus) as caught:
        await attempt
    return caught.value.response.status_code


async def test_neither_a_web_page_nor_another_protocol_is_served() -> None:
    async with running(two_channels(), ManualClock()) as (_, urls):
        url = urls["rack-1"]
        page = connect(url, subprotocols=[SUBPROTOCOL], origin=Origin("http://page.example"), proxy=None)
        assert await _refused_with(page) == 403
        assert await _refused_with(connect(url, proxy=None)) == 400


async def test_compression_is_never_agreed() -> None:
    async with (
        running(two_channels(), ManualClock()) as (_, urls),
        connect(urls["rack-1"], subprotocols=[SUBPROTOCOL], proxy=None) as connection,
    ):
        assert connection.protocol.extensions == []


async def test_garbage_hurts_only_its_sender() -> None:
    clock = ManualClock()
    async with (
        running(two_channels(), clock) as (_, urls),
        plain_connect(urls["rack-1"]) as good,
        plain_connect(urls["rack-1"]) as rude,
    ):
        desk = RemoteDesk(good, "rack-1", clock)
        await desk.enter()
        await rude.send("[" * 50)
        async with asyncio.timeout(WITHIN_S):
            assert "error" in json.loads(await rude.recv())
        assert await _closed(rude)
        await desk.advance(1.0)
        assert len(desk.series("rack-1/channel/1", "peak_dbfs")) == 10


async def test_a_flood_is_cut_off() -> None:
    async with running(two_channels(), ManualClock()) as (_, urls), plain_connect(urls["rack-1"]) as rude:
        hello = '{"jsonrpc":"2.0","method":"nothing","params":{}}'
        for _ in range(600):
            try:
                await rude.send(hello)
            except ConnectionClosed:
                break
        assert "in a second" in await _closed(rude)


async def test_a_client_that_stops_reading_gets_merged_frames_then_is_dropped_and_the_others_never_notice() -> None:
    clock = ManualClock()
    async with (
        running(two_channels(), clock) as (server, urls),
        plain_connect(urls["rack-1"]) as good,
        _frozen_client(urls["rack-1"]) as frozen,
    ):
        desk = RemoteDesk(good, "rack-1", clock)
        await desk.enter()
        receiver = server.fleet.devices["rack-1"]
        for number in range(20_000):
            receiver.turn_panel("rack-1/channel/1", {"name": f"{number:060d}"})
            if number % 100 == 0:
                await desk.advance(0.1)
            if len(receiver.audience.listeners) == 1:
                break
        assert len(receiver.audience.listeners) == 1, f"still there although more than {BACKLOG_MAXIMUM} messages wait"
        before = len(desk.series("rack-1/channel/1", "peak_dbfs"))
        await desk.advance(1.0)
        assert len(desk.series("rack-1/channel/1", "peak_dbfs")) == before + 10
        del frozen


class _frozen_client:  # noqa: N801 - it is used as a function.
    """A client that greets, subscribes, and never reads again, with a small receive buffer."""

    def __init__(self, url: str) -> None:
        self._port = int(url.rpartition(":")[2])

    async def __aenter__(self) -> socket.socket:
        self._socket = socket.socket()
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        self._connection = await connect(
            f"ws://127.0.0.1:{self._port}",
            sock=self._connected(),
            subprotocols=[SUBPROTOCOL],
            compression=None,
            max_queue=1,
        )
        for number, (method, params) in enumerate(
            [
                ("hello", {"target": "", "versions": ["1.0"], "client": "frozen"}),
                ("describe", {"target": "rack-1"}),
                ("subscribe", {"target": "rack-1", "interval_ms": 100}),
            ],
            1,
        ):
            await self._connection.send(
                json.dumps({"jsonrpc": "2.0", "id": number, "method": method, "params": params})
            )
        async with asyncio.timeout(WITHIN_S):
            for _ in range(3):
                await self._connection.recv()
        self._connection.transport.pause_reading()
        return self._socket

    def _connected(self) -> socket.socket:
        self._socket.connect(("127.0.0.1", self._port))
        return self._socket

    async def __aexit__(self, *_: object) -> None:
        self._connection.transport.abort()


async def test_the_number_of_clients_is_bounded() -> None:
    async with running(two_channels(), ManualClock()) as (_, urls):
        connections = [await plain_connect(urls["rack-1"]) for _ in range(CLIENTS_PER_DEVICE)]
        try:
            async with plain_connect(urls["rack-1"]) as one_more:
                assert str(CLIENTS_PER_DEVICE) in await _closed(one_more)
        finally:
            for connection in connections:
                await connection.close()


async def test_a_reboot_drops_the_connection() -> None:
    clock = ManualClock()
    async with running(two_channels(), clock) as (server, urls), plain_connect(urls["rack-1"]) as connection:
        desk = RemoteDesk(connection, "rack-1", clock)
        await desk.enter()
        server.fleet.devices["rack-1"].reboot(server.now_us())
        await clock.advance(0.1)
        assert await _closed(connection) == "the device restarts"


async def test_a_long_sleep_of_the_machine_is_not_caught_up_with() -> None:
    clock = ManualClock()
    async with running(two_channels(), clock) as (server, _):
        await clock.advance(0.1)
        await clock.advance(3600.0)
        for _ in range(100):
            await asyncio.sleep(0)  # noqa: TID251 - lets the server's timer turn; no time passes.
        assert server.fleet.world.blocks_done < 100


async def test_frames_over_the_socket_are_those_of_the_layout() -> None:
    clock = ManualClock()
    async with running(two_channels(), clock) as (_, urls), plain_connect(urls["rack-1"]) as connection:
        desk = RemoteDesk(connection, "rack-1", clock)
        await desk.enter()
        await desk.advance(0.5)
        frames = [item for item in desk.heard if isinstance(item, messages.Readings)]
        assert [len(frame.values) for frame in frames] == [len(desk.layout)] * 5


async def test_a_gateway_is_one_address_for_the_devices_behind_it() -> None:
    clock = ManualClock()
    async with running(load("kitchen-sink"), clock) as (_, urls), plain_connect(urls["sink-gate-1"]) as connection:
        assert not {"sink-behind-1", "sink-behind-2"} & set(urls)
        desk = RemoteDesk(connection, "sink-behind-2", clock)
        await desk.enter()
        await desk.advance(1.0)
        await desk.write("sink-behind-2/channel/1", {"trim_db": 3.0})
        await desk.advance(0.2)
        changed = [item for item in desk.heard if isinstance(item, messages.Changed)]
        assert [(each.address, each.settings) for each in changed] == [("sink-behind-2/channel/1", {"trim_db": 3.0})]
