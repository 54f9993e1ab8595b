"""The exercise protocol: a second port, guarded by a token, for faults on cue and the world's truth."""

from __future__ import annotations

import hmac
from collections.abc import Callable
from typing import Any

import msgspec
from websockets.asyncio.server import Server, ServerConnection, serve
from websockets.exceptions import ConnectionClosed
from websockets.typing import Subprotocol

from fleet.errors import InvalidRequest, MalformedMessage, NotFound
from fleet.protocol.codec import Limits, checked_bytes
from fleet.protocol.codes import ErrorCode
from simulator.live_faults import ALL_ACTS
from simulator.ports import HOST, Ports
from simulator.virtual_fleet import VirtualFleet

SUBPROTOCOL = Subprotocol("redpoll.exercise.1")
LIMITS = Limits(message_bytes=1 << 16)
CLIENTS_MAXIMUM = 16
_CODE_POLICY = 1008
_CODE_TRY_LATER = 1013
_WORDS_MAXIMUM = 300


class _Request(msgspec.Struct, frozen=True):
    jsonrpc: str
    id: int
    method: str
    params: dict[str, Any] = {}


_DECODER = msgspec.json.Decoder(_Request)


class ExerciseServer:
    """The port where an instructor, a check or a test throws faults."""

    def __init__(self, fleet: VirtualFleet, now_us: Callable[[], int], token: str) -> None:
        self._fleet = fleet
        self._now_us = now_us
        self._token = token.encode()
        self._clients = 0
        self._server: Server | None = None

    async def start(self, port: int | None = None) -> str:
        """Listen and give the address.

        Raises PortTaken when a named port is in use.
        """

        async def listen_on(candidate: int) -> None:
            self._server = await serve(
                self._serve,
                HOST,
                candidate,
                subprotocols=[SUBPROTOCOL],
                origins=[None],
                compression=None,
                max_size=LIMITS.message_bytes,
                server_header=None,
            )

        return f"ws://{HOST}:{await Ports(port).listen(listen_on)}"

    async def stop(self) -> None:
        """Close every connection and stop listening."""
        if self._server is not None:
            self._server.close()
            await self._server.wait_closed()

    async def _serve(self, connection: ServerConnection) -> None:
        if self._clients >= CLIENTS_MAXIMUM:
            await connection.close(_CODE_TRY_LATER, f"at most {CLIENTS_MAXIMUM} clients")
            return
        self._clients += 1
        try:
            await self._converse(connection)
        except ConnectionClosed:
            pass  # However it ended, the client is gone.
        finally:
            self._clients -= 1

    async def _converse(self, connection: ServerConnection) -> None:
        known = self._knows(_bearer(connection))
        async for data in connection:
            if known:
                await connection.send(self.answer(data).decode())
                continue
            known = self._knows(_token_in(data))
            if not known:
                await connection.close(_CODE_POLICY, "the token is missing or wrong")
                return
            await connection.send(_result(_number_of(data), {}).decode())

    def _knows(self, token: str) -> bool:
        return hmac.compare_digest(token.encode(), self._token)

    def answer(self, data: str | bytes) -> bytes:
        """The answer to one request, good or bad; nothing is half done."""
        try:
            request = _DECODER.decode(checked_bytes(data, LIMITS))
        except (msgspec.DecodeError, MalformedMessage) as error:
            return _error(None, ErrorCode.PARSE_ERROR, str(error))
        shape, act = ALL_ACTS.get(request.method, (None, None))
        if shape is None or act is None:
            return _error(request.id, ErrorCode.UNKNOWN_METHOD, f"one of {', '.join(ALL_ACTS)}")
        try:
            params = msgspec.convert(request.params, shape)
            self._fleet.advance(self._now_us())
            return _result(request.id, act(self._fleet, params, self._now_us()))
        except msgspec.ValidationError as error:
            return _error(request.id, ErrorCode.INVALID_PARAMS, str(error))
        except NotFound as error:
            return _error(request.id, ErrorCode.UNSUPPORTED, str(error))
        except InvalidRequest as error:
            return _error(request.id, ErrorCode.OUT_OF_RANGE, str(error))


def _bearer(connection: ServerConnection) -> str:
    header = connection.request.headers.get("Authorization", "") if connection.request is not None else ""
    return header.removeprefix("Bearer ")


def _token_in(data: str | bytes) -> str:
    """The token of a first message ``hello``; empty when it is something else."""
    try:
        request = _DECODER.decode(checked_bytes(data, LIMITS))
    except (msgspec.DecodeError, MalformedMessage):
        return ""
    token = request.params.get("token")
    return token if request.method == "hello" and isinstance(token, str) else ""


def _number_of(data: str | bytes) -> int:
    return _DECODER.decode(data).id


def _result(number: int, result: object) -> bytes:
    return msgspec.json.encode({"jsonrpc": "2.0", "id": number, "result": result})


def _error(number: int | None, code: ErrorCode, words: str) -> bytes:
    error = {"code": int(code), "message": words[:_WORDS_MAXIMUM], "data": {"code": code.word}}
    return msgspec.json.encode({"jsonrpc": "2.0", "id": number, "error": error})
