"""The guard of the device ports, over real sockets."""

from __future__ import annotations

import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from websockets.asyncio.client import connect
from websockets.exceptions import InvalidStatus
from websockets.typing import Subprotocol

from fleet.clock import ManualClock
from fleet.errors import InvalidRequest
from fleet.protocol import messages
from simulator.guard import Guard, guard_of
from simulator.server import SimulatorServer
from tests.simulator.small_stage import fleet_of, two_channels

TOKEN = "tern-token"
CERTIFICATE = Path(__file__).parent / "loopback" / "certificate.pem"
KEY = CERTIFICATE.with_name("key.pem")


@asynccontextmanager
async def _listening(guard: Guard) -> AsyncIterator[str]:
    server = SimulatorServer(fleet_of(two_channels()), ManualClock(), guard=guard)
    (place,) = await server.start()
    try:
        yield place.url
    finally:
        await server.stop()


def _connect(url: str, token: str | None, trust: ssl.SSLContext | None = None) -> connect:
    headers = {} if token is None else {"Authorization": f"Bearer {token}"}
    protocols = [Subprotocol(messages.SUBPROTOCOL)]
    return connect(url, subprotocols=protocols, compression=None, additional_headers=headers, ssl=trust, proxy=None)


def _files(folder: Path, text: str = TOKEN + "\n") -> Path:
    file = folder / "token"
    file.write_text(text, encoding="utf-8")
    return file


async def test_with_its_token_a_client_is_let_in(tmp_path: Path) -> None:
    async with _listening(guard_of(_files(tmp_path), None, None)) as url, _connect(url, TOKEN) as connection:
        assert connection.subprotocol == messages.SUBPROTOCOL


@pytest.mark.parametrize("token", [None, "", "other", "tern-toke", "tern-tokens", "TERN-TOKEN"])
async def test_without_it_the_upgrade_is_answered_401(tmp_path: Path, token: str | None) -> None:
    async with _listening(guard_of(_files(tmp_path), None, None)) as url:
        with pytest.raises(InvalidStatus) as refused:
            async with _connect(url, token):
                pass
    assert refused.value.response.status_code == 401


async def test_tls_shows_the_certificate_to_those_who_check_it(tmp_path: Path) -> None:
    async with _listening(guard_of(_files(tmp_path), CERTIFICATE, KEY)) as url:
        assert url.startswith("wss://")
        trust = ssl.create_default_context(cafile=str(CERTIFICATE))
        async with _connect(url, TOKEN, trust) as connection:
            assert connection.subprotocol == messages.SUBPROTOCOL
        with pytest.raises(ssl.SSLCertVerificationError):
            async with _connect(url, TOKEN, ssl.create_default_context()):
                pass


@pytest.mark.parametrize("text", ["", "\n", "two words", "tökén", "a\x01b"])
def test_a_file_without_a_proper_token_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(InvalidRequest, match="token"):
        guard_of(_files(tmp_path, text), None, None)


def test_files_that_are_missing_or_no_good_are_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(InvalidRequest, match="both"):
        guard_of(None, CERTIFICATE, None)
    with pytest.raises(InvalidRequest, match="certificate"):
        guard_of(None, _files(tmp_path), KEY)
    with pytest.raises(InvalidRequest, match="nowhere"):
        guard_of(tmp_path / "nowhere", None, None)
