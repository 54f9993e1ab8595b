"""A small client of the simulator's exercise protocol: faults on cue, and the world's truth."""

from __future__ import annotations

import asyncio
import itertools
import json
from types import TracebackType
from typing import Any, Self

from websockets.asyncio.client import ClientConnection, connect
from websockets.typing import Subprotocol

from fleet.errors import DeviceRefusal

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
        """Connect."""
        self._connection = await connect(
            self._url,
            subprotocols=[SUBPROTOCOL],
            additional_headers={"Authorization": f"Bearer {self._token}"},
            compression=None,
            proxy=None,
        )
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the connection; what was done to the world stays."""
        if self._connection is not None:
            await self._connection.close()

    async def call(self, method: str, **params: object) -> Any:
        """One request.

        Raises DeviceRefusal with the simulator's words.
        """
        if self._connection is None:
            raise RuntimeError("the exercise client is used outside its context")
        number = next(self._numbers)
        request = {"jsonrpc": "2.0", "id": number, "method": method, "params": params}
        await self._connection.send(json.dumps(request))
        async with asyncio.timeout(ANSWER_WITHIN_SECONDS):
            while True:
                answer = json.loads(await self._connection.recv())
                if answer.get("id") == number:
                    break
        if "error" in answer:
            raise DeviceRefusal(str(answer["error"].get("code")), str(answer["error"].get("message")))
        return answer["result"]
