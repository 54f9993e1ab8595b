"""Looking before adding: who is there, in words when nobody is, and nothing left behind."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

from fleet.adapters.adapter import Transport
from fleet.adapters.look import LOOK_WITHIN_S, look_at
from fleet.clock import LoopClock
from fleet.model.device_list import Looked, LookedDevice
from tests.adapters.fake_device import FakeDevice
from tests.adapters.link import is_transport, memory_link
from tests.adapters.rig import DEVICE_ID
from tests.virtual_time import run_virtual

URL = "ws://127.0.0.1:20001/"
Serve = Callable[[Transport], Awaitable[None]]


def looking_at(serve: Serve) -> tuple[Looked, float]:
    """What a look found, and how long it took."""
    found: list[tuple[Looked, float]] = []

    async def main() -> None:
        console, device = memory_link()
        serving = asyncio.ensure_future(serve(is_transport(device)))

        async def connect(url: str) -> Transport:
            assert url == URL
            return is_transport(console)

        loop = asyncio.get_running_loop()
        began = loop.time()
        looked = await look_at(URL, connect, LoopClock(0))
        found.append((looked, loop.time() - began))
        serving.cancel()
        await asyncio.gather(serving, return_exceptions=True)

    run_virtual(main())
    return found[0]


def test_a_device_says_who_it_is() -> None:
    async def serve(transport: Transport) -> None:
        await FakeDevice(DEVICE_ID, LoopClock(0)).serve(transport)

    looked, _ = looking_at(serve)
    described = FakeDevice(DEVICE_ID, LoopClock(0)).description
    channels = len(described.channels)
    [device] = looked.devices
    assert looked.reached
    assert (looked.reason, looked.version) == ("", "1.0")
    assert device == LookedDevice(DEVICE_ID, described.kind, described.form, True, False, channels)


def test_one_that_says_nothing_is_let_go_in_five_seconds() -> None:
    async def serve(transport: Transport) -> None:
        while True:
            await transport.receive()

    looked, took_s = looking_at(serve)
    assert not looked.reached
    assert "no whole answer within 5 s" in looked.reason
    assert took_s <= LOOK_WITHIN_S + 0.01


def test_one_that_breaks_the_protocol_is_said_so() -> None:
    async def serve(transport: Transport) -> None:
        await transport.receive()
        await transport.send(b"{]")

    looked, _ = looking_at(serve)
    assert not looked.reached
    assert "broke the protocol" in looked.reason


def test_nobody_there_is_said_in_words() -> None:
    async def nobody(_: str) -> Transport:
        raise ConnectionRefusedError("connection refused")

    async def main() -> None:
        looked = await look_at(URL, nobody, LoopClock(0))
        assert not looked.reached
        assert "connection refused" in looked.reason

    run_virtual(main())
