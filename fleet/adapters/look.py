"""Looking at an address before a device is added: who is there, asked once and then let go."""

from __future__ import annotations

import asyncio
from dataclasses import replace

from fleet.adapters.adapter import Connect
from fleet.adapters.open_json_line import OPEN_JSON_LIMITS, Line
from fleet.clock import Clock
from fleet.errors import ContactFailed, ProtocolError, UnexpectedMessage
from fleet.model.device_list import Looked, LookedDevice
from fleet.protocol import messages
from fleet.protocol.received import Received, Refusal, Result

CLIENT = "Redpoll console, looking"
LOOK_WITHIN_S = 5.0
DESCRIBED_MAXIMUM = 16
"""How many devices of a gateway are asked for their descriptions; the others are named all the same."""
LISTED_MAXIMUM = 256


async def look_at(url: str, open_transport: Connect, clock: Clock) -> Looked:
    """Connect, greet, have described, and let go; five seconds at the most, and nothing is kept.

    Whatever fails is in the answer's ``reason``, in words.
    """
    asking = _Asking(url, clock)
    try:
        async with asyncio.timeout(LOOK_WITHIN_S):
            await asking.ask(open_transport)
    except TimeoutError:
        return asking.looked(f"no whole answer within {LOOK_WITHIN_S:g} s")
    except ContactFailed as error:
        return asking.looked(error.reason)
    except ProtocolError as error:
        return asking.looked(f"broke the protocol: {error}")
    finally:
        await asking.close()
    return asking.looked("")


class _Asking:
    """One conversation that ends once every device there was described."""

    def __init__(self, url: str, clock: Clock) -> None:
        self._url = url
        self._line = Line("the device", clock, OPEN_JSON_LIMITS)
        self._session = self._line.session
        self._version = ""
        self._devices: dict[str, LookedDevice] = {}
        self._to_describe: list[str] = []
        self._done = False

    async def ask(self, open_transport: Connect) -> None:
        """The whole conversation. Raises ContactFailed and ProtocolError."""
        await self._line.open(open_transport, self._url)
        self._line.ask(lambda: self._session.hello(CLIENT))
        await self._line.listen(self._hear, until=lambda: self._done)

    async def close(self) -> None:
        """Hang up."""
        await self._line.close()

    def looked(self, reason: str) -> Looked:
        """What was learnt so far."""
        return Looked(self._url, bool(self._version), reason, self._version, tuple(self._devices.values()))

    def _hear(self, item: Received) -> None:
        match item:
            case Result():
                self._line.asked_for(item)
                self._answered(item.body)
            case Refusal():
                raise self._line.failed(f"the device refused to {item.method}: {item.word}: {item.words}")
            case _:
                return  # Whatever else it says is for those who watch it.

    def _answered(self, body: messages.ResultBody) -> None:
        match body:
            case messages.HelloResult():
                self._greeted(body)
            case messages.DescribeResult():
                self._described(body)
            case _:
                raise UnexpectedMessage(type(body).__name__, self._session.state.value)
        self._ask_next()

    def _greeted(self, hello: messages.HelloResult) -> None:
        self._version = hello.version
        for said in hello.devices[:LISTED_MAXIMUM]:
            read_only = hello.read_only or said.read_only
            self._devices[said.id] = LookedDevice(said.id, said.kind, said.form, said.simulated, read_only, None)
        self._to_describe = list(self._devices)[:DESCRIBED_MAXIMUM]

    def _described(self, described: messages.DescribeResult) -> None:
        description = described.description
        known = self._devices.get(description.device_id)
        if known is not None:
            self._devices[known.device_id] = replace(known, channels=len(description.channels))

    def _ask_next(self) -> None:
        if not self._to_describe:
            self._done = True
            return
        device_id = self._to_describe.pop(0)
        self._line.ask(lambda: self._session.describe(device_id))
