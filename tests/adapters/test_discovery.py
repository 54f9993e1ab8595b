"""Discovery over real multicast on loopback, and the listener's bounds."""

from __future__ import annotations

import asyncio
import ipaddress
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

import pytest
from zeroconf import IPVersion, ServiceStateChange
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from fleet.adapters import discovery
from fleet.adapters.discovery import Listener, announced_of
from fleet.clock import SystemClock
from fleet.protocol.announcement import SERVICE_TYPE

LOOPBACK = "127.0.0.1"
WITHIN_S = 10.0
LOOK_EVERY_S = 0.02


def info_of(label: str, port: int = 20_001, **said: str) -> AsyncServiceInfo:
    return AsyncServiceInfo(
        SERVICE_TYPE,
        f"{label}.{SERVICE_TYPE}",
        port=port,
        addresses=[ipaddress.ip_address(LOOPBACK).packed],
        properties=said,
        server=f"{label.lower().replace(' ', '-')}.local.",
    )


@asynccontextmanager
async def announcing() -> AsyncIterator[AsyncZeroconf]:
    ours = AsyncZeroconf(interfaces=[LOOPBACK], ip_version=IPVersion.V4Only)
    try:
        yield ours
    finally:
        await ours.async_close()


async def register(ours: AsyncZeroconf, *infos: AsyncServiceInfo) -> None:
    """Announce without asking the network first whether the names are free, which takes most of a second each."""
    for info in infos:
        await (await ours.async_register_service(info, cooperating_responders=True))


async def until(seen: Callable[[], bool]) -> None:
    clock = SystemClock()
    async with asyncio.timeout(WITHIN_S):
        while not seen():
            await clock.sleep(LOOK_EVERY_S)


def test_what_comes_changes_and_goes_is_followed() -> None:
    async def main() -> None:
        listener = Listener([LOOPBACK], SystemClock())
        await listener.start()
        try:
            async with announcing() as ours:
                await register(ours, info_of("Quay 1", id="quay-1", sim="1", kind="receiver"))
                await until(lambda: bool(listener.announced()))
                [heard] = listener.announced()
                assert (heard.name, heard.device_id, heard.kind, heard.simulated) == (
                    "Quay 1",
                    "quay-1",
                    "receiver",
                    True,
                )
                assert heard.urls == ("ws://127.0.0.1:20001/",)
                await (await ours.async_update_service(info_of("Quay 1", 20_002, id="quay-1")))
                await until(lambda: listener.announced()[0].urls == ("ws://127.0.0.1:20002/",))
                assert listener.announced()[0].first_seen_utc_us == heard.first_seen_utc_us
                await (await ours.async_unregister_service(info_of("Quay 1")))
                await until(lambda: not listener.announced())
        finally:
            await listener.stop()

    asyncio.run(main())


def test_discovery_that_is_off_listens_to_nothing() -> None:
    async def main() -> None:
        listener = Listener((), SystemClock())
        await listener.start()
        assert not listener.on
        assert "names no interfaces" in listener.reason
        await listener.stop()

    asyncio.run(main())


def test_an_interface_that_is_not_there_is_said_and_harms_nothing() -> None:
    async def main() -> None:
        listener = Listener(["192.0.2.77"], SystemClock())
        await listener.start()
        assert not listener.on
        assert "can't listen" in listener.reason
        await listener.stop()

    asyncio.run(main())


def test_there_is_room_for_so_many_and_what_vanishes_makes_room(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(discovery, "ANNOUNCED_MAXIMUM", 2)

    async def main() -> None:
        listener = Listener([LOOPBACK], SystemClock())
        await listener.start()
        try:
            async with announcing() as ours:
                await register(ours, *(info_of(f"Quay {number}", id=f"quay-{number}") for number in range(3)))
                await until(lambda: len(listener.announced()) == 2 and listener.left_out == 1)
                gone = listener.announced()[0].name
                await (await ours.async_unregister_service(info_of(gone)))
                await until(lambda: len(listener.announced()) == 2 and listener.left_out == 0)
        finally:
            await listener.stop()

    asyncio.run(main())


@pytest.mark.parametrize("port", [0, 1, 65_535])
def test_only_what_has_the_form_of_a_place_is_listed(port: int) -> None:
    info = info_of("Quay", port, id="Not An Id", path="//elsewhere\r\n", kind="x" * 250)
    heard = announced_of(info, 7)
    assert heard.device_id == ""
    assert heard.kind == ""
    assert heard.urls == ((f"ws://127.0.0.1:{port}/",) if port else ())


def test_a_second_word_while_the_first_is_asked_about_is_not_lost() -> None:
    async def main() -> None:
        listener = Listener([LOOPBACK], SystemClock())
        await listener.start()
        try:
            async with announcing() as ours:
                await register(ours, info_of("Quay 1", id="quay-1"))
                await until(lambda: bool(listener.announced()))
                name = f"Quay 1.{SERVICE_TYPE}"
                for _ in range(2):
                    listener._changed(name=name, state_change=ServiceStateChange.Updated)
                assert len(listener._asking) == 1
                assert name in listener._again
                await until(lambda: not listener._asking)
                assert not listener._again
        finally:
            await listener.stop()

    asyncio.run(main())
