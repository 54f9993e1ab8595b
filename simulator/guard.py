"""The guard of the device ports: a bearer token and TLS, both optional."""

from __future__ import annotations

import hmac
import ssl
from dataclasses import dataclass
from http import HTTPStatus
from pathlib import Path

from websockets.asyncio.server import ServerConnection
from websockets.http11 import Request, Response

from fleet.errors import InvalidRequest

TOKEN_BYTES_MAXIMUM = 4_096
_BEARER = "Bearer "


@dataclass(frozen=True, slots=True)
class Guard:
    """What a client must bring: the token where there is one, over TLS where that is set up."""

    token: str = ""
    tls: ssl.SSLContext | None = None

    @property
    def scheme(self) -> str:
        """The scheme of the addresses."""
        return "ws" if self.tls is None else "wss"

    def admit(self, connection: ServerConnection, request: Request) -> Response | None:
        """Answer an upgrade without the token, or with another one, with 401; None lets it in."""
        if not self.token:
            return None
        brought = request.headers.get("Authorization", "")
        if brought.startswith(_BEARER) and hmac.compare_digest(
            brought.removeprefix(_BEARER).encode(), self.token.encode()
        ):
            return None
        return connection.respond(HTTPStatus.UNAUTHORIZED, "this device wants its token\n")


def guard_of(token_file: Path | None, tls_cert: Path | None, tls_key: Path | None) -> Guard:
    """The guard that these files make.

    Raises InvalidRequest, saying which file is missing, unreadable or no good.
    """
    token = "" if token_file is None else _token_in(token_file)
    if tls_cert is None and tls_key is None:
        return Guard(token)
    if tls_cert is None or tls_key is None:
        raise InvalidRequest("TLS needs both files: --tls-cert and --tls-key")
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    try:
        context.load_cert_chain(tls_cert, tls_key)
    except (OSError, ssl.SSLError) as error:
        raise InvalidRequest(f"{tls_cert} and {tls_key} are no certificate and its key: {error}") from error
    return Guard(token, context)


def _token_in(file: Path) -> str:
    try:
        with file.open(encoding="utf-8") as opened:
            token = opened.read(TOKEN_BYTES_MAXIMUM).strip()
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidRequest(f"{file} can't be read for its token: {error}") from error
    if not token or not token.isascii() or not token.isprintable() or " " in token:
        raise InvalidRequest(f"{file} must hold one token of printable ASCII without spaces")
    return token
