"""The transport over WebSocket: text frames, the protocol's name, no compression, no proxy, no detours."""

from __future__ import annotations

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidHandshake, InvalidURI
from websockets.frames import CloseCode
from websockets.typing import Subprotocol
from websockets.uri import parse_uri

from fleet.adapters.adapter import Transport
from fleet.errors import MalformedMessage
from fleet.protocol.codec import LIMITS
from fleet.protocol.messages import SUBPROTOCOL

OPEN_WITHIN_S = 4.0
CLOSE_WITHIN_S = 1.0
_QUEUE_MESSAGES = 64
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


async def connect_websocket(url: str) -> Transport:
    """Open a connection to a device.

    The device's own heartbeats watch over the line, so the transport sends no pings. Raises OSError, saying why.
    """
    try:
        place = parse_uri(url)
        connection = await connect(
            url,
            # Named host and port keep a redirect from leading anywhere else.
            host=place.host,
            port=place.port,
            subprotocols=[Subprotocol(SUBPROTOCOL)],
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
    except (InvalidHandshake, InvalidURI, ValueError) as error:
        raise ConnectionError(f"nothing there speaks {SUBPROTOCOL}: {error}") from error
    if connection.subprotocol != SUBPROTOCOL:
        await connection.close()
        raise ConnectionError(f"nothing there speaks {SUBPROTOCOL}")
    return WebSocketTransport(connection)


def _reason_of(error: ConnectionClosed) -> str:
    if error.sent is not None and error.sent.code in _BROKEN_RULES:
        return f"broke the transport's rules: {error.sent.reason or error.sent.code}"[:200]
    if error.rcvd is None:
        return "the connection was lost"
    said = f": {error.rcvd.reason}" if error.rcvd.reason else ""
    return f"the device closed the connection ({error.rcvd.code}{said})"
