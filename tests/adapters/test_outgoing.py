"""The one way out: names looked up once, addresses pinned, tokens brought, certificates checked."""

from __future__ import annotations

import asyncio
import ipaddress
import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path

import pytest
from websockets.asyncio.server import Server, ServerConnection, serve
from websockets.http11 import Request, Response
from websockets.typing import Subprotocol

from fleet.adapters.lookup import NameLookup
from fleet.adapters.outgoing import Outgoing
from fleet.config import DeviceAddress
from fleet.protocol.messages import SUBPROTOCOL
from fleet.reach import Reach

HERE = "127.0.0.1"
REACH = Reach((ipaddress.ip_network("127.0.0.0/8"),), ((1, 65_535),))
PASSPHRASE = "lamplight-over-tern-rock"
CERTIFICATE = Path(__file__).parents[1] / "simulator" / "loopback" / "certificate.pem"
KEY = CERTIFICATE.with_name("key.pem")


@dataclass
class Names:
    addresses: tuple[str, ...]
    asked: list[str] = field(default_factory=list)

    async def __call__(self, name: str) -> tuple[str, ...]:
        self.asked.append(name)
        return self.addresses


@dataclass
class Door:
    """A device's port, and what was brought there."""

    port: int = 0
    brought: list[tuple[str | None, str | None]] = field(default_factory=list)
    wants: str = ""

    def admit(self, connection: ServerConnection, request: Request) -> Response | None:
        token = request.headers.get("Authorization")
        self.brought.append((token, request.headers.get("Host")))
        refused = self.wants and token != f"Bearer {self.wants}"
        return connection.respond(HTTPStatus.UNAUTHORIZED, "") if refused else None


def port_of(server: Server) -> int:
    port: int = next(iter(server.sockets)).getsockname()[1]
    return port


async def hang_up(connection: ServerConnection) -> None:
    await connection.close()


@asynccontextmanager
async def door(wants: str = "") -> AsyncIterator[Door]:
    opened = Door(wants=wants)
    names = [Subprotocol(SUBPROTOCOL)]
    async with serve(hang_up, HERE, 0, subprotocols=names, compression=None, process_request=opened.admit) as running:
        opened.port = port_of(running)
        yield opened


def test_a_name_is_looked_up_once_and_the_checked_address_called() -> None:
    async def main() -> None:
        names = Names(("192.0.2.1", "169.254.169.254", HERE))
        async with door() as opened:
            await (await Outgoing(REACH, names).open(f"ws://quay.example:{opened.port}/")).close()
            assert names.asked == ["quay.example"]
            assert opened.brought == [(None, f"quay.example:{opened.port}")]

    asyncio.run(main())


def test_a_name_that_leads_only_where_nobody_may_call_is_refused_in_words() -> None:
    async def main() -> None:
        for address, reason in (("169.254.169.254", "link-local"), ("192.0.2.1", "allowed networks")):
            with pytest.raises(ConnectionError, match=f"quay.example leads to .*{reason}"):
                await Outgoing(REACH, Names((address,))).open("ws://quay.example:20001/")

    asyncio.run(main())


def test_the_next_address_of_a_name_is_tried_where_the_first_is_silent() -> None:
    async def main() -> None:
        async with door() as opened:
            names = Names(("127.0.0.7", HERE))
            await (await Outgoing(REACH, names).open(f"ws://quay.example:{opened.port}/")).close()

    asyncio.run(main())


def test_a_device_gets_its_own_token_and_no_other() -> None:
    async def main() -> None:
        async with door(PASSPHRASE) as opened:
            kept = {"quay": PASSPHRASE, "house": "another"}
            way = Outgoing(REACH, Names(()), kept.get)
            url = f"ws://{HERE}:{opened.port}/"
            await (await way.to(DeviceAddress("quay-1", url, token="quay"))(url)).close()
            for name in ("", "house"):
                with pytest.raises(ConnectionError, match="asks for a token") as refused:
                    await way.to(DeviceAddress("quay-1", url, token=name))(url)
                assert PASSPHRASE not in str(refused.value)
            with pytest.raises(ConnectionError, match="no token is kept under the name lost"):
                await way.open(url, token="lost")
            assert [token for token, _ in opened.brought] == [f"Bearer {PASSPHRASE}", None, "Bearer another"]

    asyncio.run(main())


def test_a_place_that_speaks_no_tls_says_nothing_over_wss() -> None:
    async def main() -> None:
        async with door() as opened:
            with pytest.raises(OSError, match=r"dropped the connection|SSL|TLS"):
                await Outgoing(REACH, Names(())).open(f"wss://{HERE}:{opened.port}/")
            assert opened.brought == []

    asyncio.run(main())


def test_the_operating_system_knows_this_machine_and_not_everybody() -> None:
    async def main() -> None:
        lookup = NameLookup()
        try:
            assert HERE in await lookup("localhost")
            with pytest.raises(OSError, match="leads nowhere"):
                await lookup("a" * 64)
        finally:
            lookup.close()

    asyncio.run(main())


def test_a_certificate_must_be_trusted_and_fit_the_place_that_was_asked_for() -> None:
    """The certificate is for the address 127.0.0.1 and the name localhost, and vouches for itself."""

    async def main() -> None:
        own = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        own.load_cert_chain(CERTIFICATE, KEY)
        site = ssl.create_default_context(cafile=str(CERTIFICATE))
        names = [Subprotocol(SUBPROTOCOL)]
        async with serve(hang_up, HERE, 0, subprotocols=names, compression=None, ssl=own) as running:
            port = port_of(running)
            lookup = Names((HERE,))
            for host in (HERE, "localhost"):
                await (await Outgoing(REACH, lookup, trust=site).open(f"wss://{host}:{port}/")).close()
            with pytest.raises(ConnectionError, match=r"certificate is not trusted: .*mismatch"):
                await Outgoing(REACH, lookup, trust=site).open(f"wss://quay.example:{port}/")
            with pytest.raises(ConnectionError, match="certificate is not trusted: self"):
                await Outgoing(REACH, lookup).open(f"wss://{HERE}:{port}/")

    asyncio.run(main())
