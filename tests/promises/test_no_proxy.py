"""Adding by address is no proxy: whatever somebody asks for, nothing is sent to where devices may not be.

Canaries listen where nobody may call: at the allowed address on another port, at another address on the allowed port,
at the end of a redirect, and where a proxy of the environment would be. The loop notes every call that is made.
"""

from __future__ import annotations

import asyncio
import ipaddress
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any

import numpy as np
import pytest
from websockets.asyncio.server import Server, ServerConnection, serve
from websockets.datastructures import Headers
from websockets.http11 import Request, Response
from websockets.typing import Subprotocol

from fleet.adapters.look import look_at
from fleet.adapters.outgoing import Outgoing
from fleet.clock import SystemClock
from fleet.protocol.messages import SUBPROTOCOL
from fleet.reach import Reach
from tests.promises.promise import Promise, Seen, keep

PROMISE = Promise(
    "no_proxy",
    "add-by-address is no proxy",
    "link-local, metadata, rebinding, redirects, odd ports, mapped IPv6, decimal and octal hosts, proxies",
    "addresses asked for",
    (300, 3_000, 60_000),
)
ASKED_A_TRIAL = 100
HERE, ELSEWHERE = "127.0.0.1", "127.0.0.9"
PROXIES = ("http_proxy", "https_proxy", "all_proxy", "ws_proxy", "wss_proxy", "HTTP_PROXY", "ALL_PROXY")


class NotingLoop(asyncio.SelectorEventLoop):
    """Notes whom it is asked to call."""

    def __init__(self) -> None:
        super().__init__()
        self.called: list[tuple[str, int]] = []

    async def create_connection(self, *args: Any, **options: Any) -> Any:
        self.called.append((str(options.get("host")), int(options.get("port") or 0)))
        return await super().create_connection(*args, **options)


@dataclass
class Canary:
    """Whoever calls it, and whatever they send, breaks the promise."""

    calls: int = 0
    heard: bytearray = field(default_factory=bytearray)

    async def hear(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.calls += 1
        self.heard += await reader.read(65_536)
        writer.close()


@dataclass
class Names:
    """A resolver that answers first what is allowed, and ever after what is not."""

    first: str = HERE
    later: str = ELSEWHERE
    asked: int = 0

    async def __call__(self, name: str) -> tuple[str, ...]:
        self.asked += 1
        if name.startswith("bad"):
            return (self.later, "169.254.169.254", "fe80::1")
        return (self.first,) if self.asked == 1 else (self.later,)


@dataclass(frozen=True)
class Stage:
    device_port: int
    redirect_port: int
    canary_port: int
    canary: Canary

    @property
    def reach(self) -> Reach:
        ports = ((self.device_port, self.device_port), (self.redirect_port, self.redirect_port))
        return Reach((ipaddress.ip_network("127.0.0.1/32"),), ports)


def port_of(server: Server | asyncio.Server) -> int:
    port: int = next(iter(server.sockets)).getsockname()[1]
    return port


async def hang_up(connection: ServerConnection) -> None:
    await connection.close()


@asynccontextmanager
async def staged() -> AsyncIterator[Stage]:
    canary = Canary()
    async with await asyncio.start_server(canary.hear, HERE, 0) as other_port:
        target = f"ws://{HERE}:{port_of(other_port)}/"

        def redirect(_connection: ServerConnection, request: Request) -> Response:
            # The same origin too: a device has no business sending anybody anywhere.
            where = target if request.path == "/" else "/elsewhere"
            return Response(HTTPStatus.TEMPORARY_REDIRECT, "Elsewhere", Headers(Location=where), b"")

        device = serve(hang_up, HERE, 0, subprotocols=[Subprotocol(SUBPROTOCOL)], compression=None)
        async with device as here, serve(hang_up, HERE, 0, process_request=redirect) as redirecting:
            port = port_of(here)
            async with await asyncio.start_server(canary.hear, ELSEWHERE, port):
                yield Stage(port, port_of(redirecting), port_of(other_port), canary)


def hosts(random: np.random.Generator) -> str:
    """Somewhere that must not be called, in one of the ways in which it can be written."""
    address = ipaddress.IPv4Address(
        str(random.choice([ELSEWHERE, "169.254.169.254", "0.0.0.0", "192.0.2.7", "224.0.0.251", "255.255.255.255"]))
    )
    whole = int(address)
    octets = [int(part) for part in str(address).split(".")]
    ways: list[Callable[[], str]] = [
        lambda: str(address),
        lambda: str(whole),
        lambda: hex(whole),
        lambda: f"0{whole:o}",
        lambda: ".".join(f"0{part:o}" for part in octets),
        lambda: ".".join(hex(part) for part in octets),
        lambda: f"{octets[0]}.{whole & 0xFFFFFF}",
        lambda: f"[::ffff:{address}]",
        lambda: f"[::{address}]",
        lambda: f"[64:ff9b::{address}]",
        lambda: f"[2002:{whole >> 16:x}:{whole & 0xFFFF:x}::1]",
        lambda: f"[fe80::{random.integers(1, 9)}%25lo]",
        lambda: "[fd00:ec2::254]",
        lambda: f"{HERE}@{address}",
        lambda: f"bad{random.integers(1, 9)}.example",
        lambda: f"{HERE}.",
    ]
    return ways[int(random.integers(len(ways)))]()


def asked_for(stage: Stage, random: np.random.Generator) -> str:
    ways: list[Callable[[], str]] = [
        lambda: f"ws://{hosts(random)}:{stage.device_port}/",
        lambda: f"wss://{hosts(random)}:{stage.device_port}/",
        lambda: f"ws://{HERE}:{stage.canary_port}/",
        lambda: f"ws://{HERE}:{random.choice([0, 22, 25, 80, 5353, 65_535])}/",
        lambda: f"ws://{HERE}:{stage.redirect_port}{random.choice(['/', '/again'])}",
        lambda: f"ws://rebinding{random.integers(1, 9)}.example:{stage.device_port}/",
        lambda: f"http://{HERE}:{stage.canary_port}/",
        lambda: f"ws://{HERE}:{stage.device_port}\\@{ELSEWHERE}:{stage.device_port}/",
        lambda: f"ws://{HERE}:{stage.device_port}/\r\nHost: {ELSEWHERE}",
    ]
    return ways[int(random.integers(len(ways)))]()


async def ask(stage: Stage, url: str) -> int:
    """Look at a place as a console does; how often its name was looked up."""
    names = Names()
    looked = await look_at(url, Outgoing(stage.reach, names).open, SystemClock())
    assert not looked.reached, url
    assert looked.reason, url
    return names.asked


async def tried(stage: Stage, random: np.random.Generator, loop: NotingLoop) -> Seen:
    rebound = 0
    for _ in range(ASKED_A_TRIAL):
        url = asked_for(stage, random)
        asked = await ask(stage, url)
        assert asked <= 1, f"{url}: the name was looked up {asked} times for one connection"
        rebound += "rebinding" in url
    await SystemClock().sleep(0.01)  # A call that was made would be heard by now.
    assert (stage.canary.calls, bytes(stage.canary.heard)) == (0, b"")
    allowed = {(HERE, stage.device_port), (HERE, stage.redirect_port)}
    assert set(loop.called) <= allowed
    assert loop.called, "nothing at all was called: the trial proves nothing"
    return {PROMISE.unit: ASKED_A_TRIAL, "calls to the allowed address": len(loop.called), "names that moved": rebound}


def trial(seed: int) -> Seen:
    loop = NotingLoop()

    async def main() -> Seen:
        async with staged() as stage:
            with pytest.MonkeyPatch.context() as environment:
                for name in PROXIES:
                    environment.setenv(name, f"http://{HERE}:{stage.canary_port}")
                return await tried(stage, np.random.default_rng(seed), loop)

    with asyncio.Runner(loop_factory=lambda: loop) as runner:
        return runner.run(main())


def test_adding_by_address_is_no_proxy() -> None:
    seen = keep(PROMISE, trial)
    assert seen["names that moved"] > 0


def test_a_canary_would_sing() -> None:
    """The same calls without the checks do reach the canaries, so silence means something."""

    async def main() -> int:
        async with staged() as stage:
            everywhere = Reach((ipaddress.ip_network("0.0.0.0/0"),), ((1, 65_535),))
            for url in (f"ws://{HERE}:{stage.canary_port}/", f"ws://{ELSEWHERE}:{stage.device_port}/"):
                await look_at(url, Outgoing(everywhere, Names()).open, SystemClock())
            return stage.canary.calls

    assert asyncio.run(main()) == 2
