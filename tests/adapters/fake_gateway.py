"""A gateway for tests: fake devices behind one connection, each with a boot and a heartbeat of its own."""

from __future__ import annotations

import asyncio

from fleet.adapters.adapter import Transport
from fleet.clock import Clock
from fleet.errors import ProtocolError
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Request
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from tests.adapters.fake_device import FakeDevice


class FakeGateway:
    """Answers for its devices. ``gone`` are devices that it lists and can't reach, ``mute`` that send no heartbeat."""

    def __init__(self, device_id: str, clock: Clock, *devices: FakeDevice) -> None:
        self.device_id = device_id
        self.boot_id = "gate-1"
        self.devices = {device.device_id: device for device in devices}
        self.gone: set[str] = set()
        self.mute: set[str] = set()
        self.counter = 0
        self.connections = 0
        self.transport: Transport | None = None
        self.session = Session(Role.DEVICE)
        self._clock = clock

    def now_us(self) -> int:
        """The one clock of the connection."""
        return self._clock.monotonic_us() + 7_000_000

    async def serve(self, transport: Transport) -> None:
        """One connection, until it ends."""
        self.session, self.transport = Session(Role.DEVICE), transport
        self.connections += 1
        for device in self.devices.values():
            device.session, device.transport = self.session, transport
        beating = asyncio.create_task(self._beat(), name=f"heartbeats behind {self.device_id}")
        try:
            while self.session.state not in (SessionState.CLOSED, SessionState.FAULTED):
                self._hear(await transport.receive())
                await self.flush()
        except ConnectionError:
            return
        finally:
            beating.cancel()
            self.transport = None
            await transport.close()

    def _hear(self, data: bytes | str) -> None:
        try:
            items = self.session.receive(data)
        except ProtocolError:
            return
        for item in items:
            assert isinstance(item, Request)
            self._answer(item)

    async def flush(self) -> None:
        """Send what waits."""
        for message in self.session.outgoing():
            if self.transport is not None:
                await self.transport.send(message)

    def _answer(self, item: Request) -> None:
        if isinstance(item.params, messages.Hello):
            summaries = [device.summary(device.boot_id) for device in self.devices.values()]
            hello = messages.HelloResult("1.0", self.boot_id, False, summaries, self.now_us())
            self.session.answer(item.request_id, hello)
            return
        device = self._with(item.params.target)
        if device.device_id in self.gone:
            self.session.refuse(item.request_id, ErrorCode.UNREACHABLE, f"{device.device_id} is out of reach")
            return
        device.answer(item)

    def _with(self, target: str) -> FakeDevice:
        for device in self.devices.values():
            if target == device.pack or target.partition("/")[0] == device.device_id:
                return device
        raise AssertionError(f"nobody here has {target}")

    async def _beat(self) -> None:
        while True:
            await self._clock.sleep(1.0)
            if not self.session.may_send("heartbeat"):
                continue
            self.counter += 1
            self.session.notify(messages.Heartbeat(self.now_us(), self.boot_id, self.counter))
            for device in self.devices.values():
                device.counter += not device.frozen
                if device.device_id not in self.mute | self.gone:
                    beat = messages.Heartbeat(self.now_us(), device.boot_id, device.counter, device.device_id)
                    self.session.notify(beat)
            await self.flush()
