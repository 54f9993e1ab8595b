"""The transport over WebSocket: text frames, the protocol's name, no compression, no proxy, no detours."""

from __future__ import annotations

import ssl
from dataclasses import dataclass, field

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidHandshake, InvalidStatus, InvalidURI
from websockets.frames import CloseCode
from websockets.typing import Subprotocol

from fleet.adapters.adapter import Transport
from fleet.errors import MalformedMessage
from fleet.protocol.codec import LIMITS
from fleet.protocol.messages import SUBPROTOCOL
from fleet.reach import DevicePlace

OPEN_WITHIN_S = 4.0
CLOSE_WITHIN_S = 1.0
_QUEUE_MESSAGES = 64
REASON_MAXIMUM = 200
_NOT_LET_IN = frozenset({401, 403})
_BROKEN_RULES = frozenset({CloseCode.PROTOCOL_ERROR, CloseCode.INVALID_DATA, CloseCode.MESSAGE_TOO_BIG})


class WebSocketTransport:
    """One open connection."""

    def __init__(self, connection: ClientConnection) -> None:
        self._connection = connection

    async def send(self, message: bytes) -> None:
        """Send one text frame."""
        try:
            await self._connection.send(message, text=True)
        except ConnectionClosed as error:
            raise ConnectionError(_reason_of(error)) from error

    async def receive(self) -> bytes | str:
        """The next frame's text.

        Raises MalformedMessage when the frame was too large, not UTF-8 or no frame at all.
        """
        try:
            return await self._connection.recv(decode=False)
        except ConnectionClosed as error:
            if error.sent is not None and error.sent.code in _BROKEN_RULES:
                raise MalformedMessage(_reason_of(error)) from error
            raise ConnectionError(_reason_of(error)) from error

    async def close(self) -> None:
        """Say goodbye, or drop the line where the other end doesn't answer in time."""
        await self._connection.close()


@dataclass(frozen=True, slots=True)
class Pinned:
    """Where to connect: the place as it was asked for, and the one address that is called for it.

    A token is sent with the greeting. ``trust`` verifies a certificate against the place's host; the machine's own when
    it is None.
    """

    place: DevicePlace
    address: str
    token: str | None = field(default=None, repr=False)
    trust: ssl.SSLContext | None = None


class _Straight(connect):
    """Opens a connection there or nowhere."""

    def process_redirect(self, exc: Exception) -> Exception | str:
        """A device doesn't send anybody elsewhere."""
        return exc


async def connect_pinned(pinned: Pinned) -> Transport:
    """Open a connection to that address, over no proxy and following no redirect.

    The device's own heartbeats watch over the line, so the transport sends no pings. Raises OSError, saying why.
    """
    place = pinned.place
    try:
        connection = await _Straight(
            place.url,
            host=pinned.address,
            port=place.port,
            ssl=(pinned.trust or ssl.create_default_context()) if place.secure else None,
            server_hostname=place.host if place.secure else None,
            subprotocols=[Subprotocol(SUBPROTOCOL)],
            additional_headers={"Authorization": f"Bearer {pinned.token}"} if pinned.token else None,
            compression=None,
            proxy=None,
            user_agent_header=None,
            open_timeout=OPEN_WITHIN_S,
            close_timeout=CLOSE_WITHIN_S,
            ping_interval=None,
            max_size=LIMITS.message_bytes,
            max_queue=_QUEUE_MESSAGES,
        )
    except TimeoutError as error:
        raise ConnectionError(f"no answer within {OPEN_WITHIN_S:g} s") from error
    except ssl.SSLCertVerificationError as error:
        raise ConnectionError(f"its certificate is not trusted: {error.verify_message}") from error
    except (InvalidHandshake, InvalidURI, ValueError) as error:
        raise ConnectionError(_why_not(error)) from error
    except OSError as error:
        raise ConnectionError(str(error) or "it dropped the connection at once") from error
    if connection.subprotocol != SUBPROTOCOL:
        await connection.close()
        raise ConnectionError(f"nothing there speaks {SUBPROTOCOL}")
    return WebSocketTransport(connection)


def _why_not(error: Exception) -> str:
    if isinstance(error, InvalidStatus) and error.response.status_code in _NOT_LET_IN:
        return "it asks for a token, or for another one"
    return f"nothing there speaks {SUBPROTOCOL}: {error}"[:REASON_MAXIMUM]


def _reason_of(error: ConnectionClosed) -> str:
    if error.sent is not None and error.sent.code in _BROKEN_RULES:
        return f"broke the transport's rules: {error.sent.reason or error.sent.code}"[:REASON_MAXIMUM]
    if error.rcvd is None:
        return "the connection was lost"
    said = f": {error.rcvd.reason}" if error.rcvd.reason else ""
    return f"the device closed the connection ({error.rcvd.code}{said})"
