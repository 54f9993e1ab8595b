"""A small client of the simulator's exercise protocol: faults on cue, and the world's truth."""

from __future__ import annotations

import asyncio
import itertools
import json
from types import TracebackType
from typing import Any, Self

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidHandshake, InvalidURI
from websockets.typing import Subprotocol

from fleet.errors import ContactFailed, DeviceRefusal

SUBPROTOCOL = Subprotocol("redpoll.exercise.1")
ANSWER_WITHIN_SECONDS = 5.0


class ExerciseClient:
    """One connection to the exercise port; an asynchronous context."""

    def __init__(self, url: str, token: str) -> None:
        self._url = url
        self._token = token
        self._numbers = itertools.count(1)
        self._connection: ClientConnection | None = None

    async def __aenter__(self) -> Self:
        """Connect.

        Raises ContactFailed, saying why it could not.
        """
        try:
            self._connection = await connect(
                self._url,
                subprotocols=[SUBPROTOCOL],
                additional_headers={"Authorization": f"Bearer {self._token}"},
                compression=None,
                proxy=None,
                open_timeout=ANSWER_WITHIN_SECONDS,
            )
        except (OSError, InvalidHandshake, InvalidURI, TimeoutError) as error:
            raise ContactFailed(self._url, f"no exercise protocol there ({error})") from error
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the connection; what was done to the world stays."""
        if self._connection is not None:
            await self._connection.close()

    async def call(self, method: str, **params: object) -> Any:
        """One request.

        Raises DeviceRefusal with the simulator's words, ContactFailed when no answer comes.
        """
        if self._connection is None:
            raise RuntimeError("the exercise client is used outside its context")
        number = next(self._numbers)
        request = {"jsonrpc": "2.0", "id": number, "method": method, "params": params}
        try:
            async with asyncio.timeout(ANSWER_WITHIN_SECONDS):
                answer = await _answer_to(self._connection, request)
        except ConnectionClosed as error:
            reason = error.rcvd.reason if error.rcvd is not None else ""
            raise ContactFailed(
                self._url, f"the simulator closed the connection: {reason or 'no reason given'}"
            ) from error
        except TimeoutError as error:
            raise ContactFailed(self._url, f"no answer within {ANSWER_WITHIN_SECONDS:g} s") from error
        if "error" in answer:
            raise DeviceRefusal(str(answer["error"].get("code")), str(answer["error"].get("message")))
        return answer["result"]


async def _answer_to(connection: ClientConnection, request: dict[str, Any]) -> dict[str, Any]:
    await connection.send(json.dumps(request))
    while True:
        answer: dict[str, Any] = json.loads(await connection.recv())
        if answer.get("id") == request["id"]:
            return answer
