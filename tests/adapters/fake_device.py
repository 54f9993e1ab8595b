"""A device for tests: one carrier, one channel, one pack, spoken for by the device's side of the session."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace

from fleet.adapters.adapter import Transport
from fleet.clock import Clock
from fleet.errors import ProtocolError
from fleet.model.capability import ActCapability, Argument, Capability, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.model.settings import Cause
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Received, Request
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState

PACK = "pack/k17"
LOW_CUT = Capability((PACK,), "low_cut_hz", ValueSchema(SchemaType.INTEGER, 0, 160, 10), Held.PACK, "Hz")
KEY = Argument("key", ValueSchema(SchemaType.STRING), required=True, secret=True)


def acts_of(device_id: str, pack: str) -> tuple[ActCapability, ...]:
    """What can be done to the device and its pack."""
    return (
        ActCapability((device_id,), "identify", arguments=(Argument("seconds", ValueSchema(SchemaType.INTEGER)),)),
        ActCapability((device_id,), "scan", progress=True, cancellable=True),
        ActCapability((pack,), "link", needs_hand=True, cancellable=True),
        ActCapability((pack,), "set_key", arguments=(KEY,)),
    )


def description_of(device_id: str, *capabilities: Capability, pack: str = PACK) -> DeviceDescription:
    """What the device says of itself."""
    carrier, channel = f"{device_id}/carrier/1", f"{device_id}/channel/1"
    branches = (f"{carrier}/branch/a", f"{carrier}/branch/b")
    return DeviceDescription(
        device_id,
        "receiver",
        "two-channel, in a rack",
        simulated=True,
        read_only=False,
        carriers=(CarrierDescription(carrier, branches, (channel,)),),
        channels=(ChannelDescription(channel, carrier, pack),),
        packs=(pack,),
        capabilities=capabilities or (replace(LOW_CUT, targets=(pack,)),),
        acts=acts_of(device_id, pack),
    )


class FakeDevice:
    """Answers as a good device does; tests reach in to make it bad.

    ``mood`` decides about writes and acts: "do", "refuse", "wait" (for the pack to wake, or a hand) or "ignore". With
    ``leases`` it takes them from the holder of its lease alone; ``rival`` holds it where somebody else does.
    """

    def __init__(self, device_id: str, clock: Clock, boot_id: str = "boot-1", pack: str = PACK) -> None:
        self.device_id = device_id
        self.boot_id = boot_id
        self.pack = pack
        self.leases = False
        self.rival = ""
        self.held = False
        self.asked: list[messages.Lease] = []
        self.acts: list[messages.Act] = []
        self.description = description_of(device_id, pack=pack)
        self.settings: dict[str, messages.Settings] = {
            device_id: {"name": "Quay"},
            f"{device_id}/carrier/1": {"frequency_hz": 606_000_000},
            pack: {"low_cut_hz": 80, "name": "Fiddler"},
        }
        self.numbers = dict.fromkeys(self.settings, 1)
        self.mood = "do"
        self.ignores: tuple[type, ...] = ()
        self.time_step_us = 0
        self.frozen = False
        self.silent = False
        self.counter = 0
        self.sequence = 0
        self.subscription = 0
        self.connections = 0
        self.session = Session(Role.DEVICE)
        self.transport: Transport | None = None
        self._clock = clock

    def now_us(self) -> int:
        """The device's own clock, which runs beside the console's."""
        return self._clock.monotonic_us() + 7_000_000 + self.time_step_us

    # ------------------------------------------------------------ serving

    async def serve(self, transport: Transport) -> None:
        """One connection, until it ends."""
        self.session, self.transport = Session(Role.DEVICE), transport
        self.connections += 1
        beating = asyncio.create_task(self._beat(), name=f"heartbeats of {self.device_id}")
        try:
            while self.session.state not in (SessionState.CLOSED, SessionState.FAULTED):
                for item in self._hear(await transport.receive()):
                    self._answer(item)
                await self.flush()
        except ConnectionError:
            return
        finally:
            beating.cancel()
            self.transport = None
            await transport.close()

    def _hear(self, data: bytes | str) -> tuple[Received, ...]:
        try:
            return self.session.receive(data)
        except ProtocolError:
            return ()

    async def flush(self) -> None:
        """Send what waits, unless the device plays dead."""
        for message in self.session.outgoing():
            if self.transport is not None and not self.silent:
                await self.transport.send(message)

    async def say(self, *bodies: messages.NotificationBody) -> None:
        """Send notifications now."""
        for body in bodies:
            self.session.notify(body)
        await self.flush()

    async def say_raw(self, data: bytes) -> None:
        """Send what no session would."""
        if self.transport is None:
            raise AssertionError("nobody is connected")
        await self.transport.send(data)

    async def _beat(self) -> None:
        while True:
            await self._clock.sleep(1.0)
            if self.session.may_send("heartbeat"):
                self.counter += not self.frozen
                await self.say(messages.Heartbeat(self.now_us(), self.boot_id, self.counter))

    def summary(self, boot_id: str = "") -> messages.DeviceSummary:
        """How it stands in a greeting."""
        said = self.description
        return messages.DeviceSummary(
            self.device_id, said.kind, said.form, said.simulated, "digest-1", boot_id, leases=self.leases
        )

    # ------------------------------------------------------------ answering

    def _answer(self, item: Received) -> None:
        if not isinstance(item, Request):
            raise AssertionError(f"a device hears requests only, not {item}")
        self.answer(item)

    def answer(self, item: Request) -> None:
        """Answer a request."""
        if isinstance(item.params, self.ignores):
            return
        answers: dict[type, Callable[[int], None]] = {
            messages.Hello: self._greet,
            messages.Describe: lambda i: self.session.answer(
                i, messages.DescribeResult(self.description, self.now_us())
            ),
            messages.Subscribe: self._subscribe,
            messages.Unsubscribe: lambda i: self.session.answer(i, messages.UnsubscribeResult(self.now_us())),
        }
        params = item.params
        if isinstance(params, messages.Read):
            self._read(item.request_id, params)
        elif isinstance(params, messages.Write):
            self._write(item.request_id, params)
        elif isinstance(params, messages.Act):
            self._act(item.request_id, params)
        elif isinstance(params, messages.Lease):
            self._lease(item.request_id, params)
        elif isinstance(params, messages.Release):
            self.held = False
            self.session.answer(item.request_id, messages.ReleaseResult(self.now_us()))
        elif isinstance(params, messages.Cancel):
            self.session.answer(item.request_id, messages.CancelResult(cancelled=True, device_time_us=self.now_us()))
            self.session.notify(messages.Outcome(params.command_id, "cancelled"))
        else:
            answers[type(params)](item.request_id)

    def _greet(self, request_id: int) -> None:
        hello = messages.HelloResult("1.0", self.boot_id, False, [self.summary()], self.now_us())
        self.session.answer(request_id, hello)

    def _read(self, request_id: int, read: messages.Read) -> None:
        chosen = [read.target] if read.target != self.device_id else list(self.settings)
        if read.target not in self.settings:
            self.session.refuse(request_id, ErrorCode.UNREACHABLE, "nothing of that name")
            return
        entries = [messages.SettingsEntry(at, self.revision(at), self.settings[at]) for at in chosen]
        exact: messages.ExactReadings = {f"{self.device_id}/channel/1": {"identity": self.pack}}
        self.session.answer(request_id, messages.ReadResult(entries, exact, self.now_us()))

    def _subscribe(self, request_id: int) -> None:
        branches = self.description.carriers[0].branches
        layout = [messages.LayoutEntry(branch, ["rf_dbm"]) for branch in branches]
        layout.append(messages.LayoutEntry(self.pack, ["battery_fraction", "asleep"]))
        number = self.subscription = request_id
        self.session.answer(request_id, messages.SubscribeResult(number, 100, layout, self.now_us()))
        self.session.notify(self.frame(number))

    def frame(self, subscription: int) -> messages.Readings:
        """The next frame of a subscription."""
        self.sequence += 1
        exact: messages.ExactReadings = {f"{self.device_id}/channel/1": {"identity": self.pack}}
        values = [-55.0, -61.5, None, False]
        return messages.Readings(subscription, self.sequence, self.now_us(), values, {1: 3}, exact)

    def _lease(self, request_id: int, lease: messages.Lease) -> None:
        self.asked.append(lease)
        if lease.take:
            self.rival = ""
        self.held = not self.rival
        result = messages.LeaseResult(self.held, self.rival, 0.0 if self.held else 12.5, self.now_us())
        self.session.answer(request_id, result)

    def _refuses_without_lease(self, request_id: int) -> bool:
        if not self.leases or self.held:
            return False
        self.session.refuse(request_id, ErrorCode.REFUSED, f"{self.rival} holds the lease", {"lease": self.rival})
        return True

    def _act(self, request_id: int, act: messages.Act) -> None:
        if self.mood == "ignore" or self._refuses_without_lease(request_id):
            return
        if self.mood == "refuse":
            self.session.refuse(request_id, ErrorCode.REFUSED, "not while the show runs")
            return
        self.acts.append(act)
        waits = act.act == "link"
        self.session.answer(
            request_id, messages.ActResult("waiting for a hand" if waits else "accepted", self.now_us())
        )
        if act.act == "scan":
            branch = f"{act.target}/carrier/1/branch/a"
            levels = messages.Levels(470_000_000, 25_000, 25_000, [-101.5, None], branch, calibrated=True)
            self.session.notify(messages.Progress(act.command_id, 0.5, "half of the band", levels))
        if self.mood == "do" and not waits:
            result: messages.Settings = {"key_fingerprint": "3f-9c"} if act.act == "set_key" else {}
            self.session.notify(messages.Outcome(act.command_id, "done", result=result))

    def _write(self, request_id: int, write: messages.Write) -> None:
        if self.mood == "ignore" or self._refuses_without_lease(request_id):
            return
        if self.mood == "refuse":
            self.session.refuse(request_id, ErrorCode.OUT_OF_RANGE, "low_cut_hz: at most 160")
            return
        if self.mood == "wait":
            self.session.answer(request_id, messages.WriteResult("waiting for wake", self.now_us()))
            return
        self.session.answer(request_id, messages.WriteResult("accepted", self.now_us()))
        self.session.notify(self.change(write.target, write.changes, Cause.COMMAND, write.command_id))
        self.session.notify(messages.Outcome(write.command_id, "done"))

    def change(self, address: str, changes: messages.Settings, cause: Cause, command_id: str = "") -> messages.Changed:
        """Change settings at the device; what it says of it."""
        self.settings[address] |= changes
        self.numbers[address] += 1
        return messages.Changed(address, self.revision(address), cause, changes, command_id)

    def revision(self, address: str) -> str:
        """The present revision of an address."""
        return f"{self.boot_id}.{self.numbers[address]}"
