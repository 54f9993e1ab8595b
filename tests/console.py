"""A console on virtual time with a journal in a temporary folder and one receiver played by hand."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace

from fleet.clock import LoopClock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed, NotFound
from fleet.journal.writer import InlineWriter
from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.command import Command
from fleet.model.device import CarrierDescription, ChannelDescription, ContactState, DeviceDescription
from fleet.model.event import Recorded
from fleet.model.fields import Value
from fleet.model.inputs import RequestWrite
from fleet.model.moment import Moment
from fleet.model.observation import Answer, CommandAnswer, Contact, Observation, SettingsReport
from fleet.model.production import Position, Production
from fleet.model.settings import Cause
from fleet.runtime import Plan, Runtime, Sink

DEVICE = "quay-1"
PACK = "pack/k17"
CHANNEL = "quay-1/channel/1"
CARRIER = "quay-1/carrier/1"
UTC_START_US = 1_760_000_000_000_000
PRODUCTION = Production("The Lamp at Tern Rock", ("Quay",), (Position(17, "Fiddler", "Quay", CHANNEL, PACK),))
DESCRIPTION = DeviceDescription(
    device_id=DEVICE,
    kind="receiver",
    form="two-channel rack",
    simulated=True,
    read_only=False,
    carriers=(CarrierDescription(CARRIER, (f"{CARRIER}/branch/a", f"{CARRIER}/branch/b"), (CHANNEL,)),),
    channels=(ChannelDescription(CHANNEL, CARRIER, PACK),),
    packs=(PACK,),
    capabilities=(
        Capability((PACK,), "low_cut_hz", ValueSchema(SchemaType.INTEGER, 0, 160, 10), Held.RECEIVER),
        Capability((PACK,), "muted", ValueSchema(SchemaType.BOOLEAN), Held.RECEIVER, accept_within_ms=500),
    ),
)


class Receiver:
    """Stands in for the supervisor and one receiver behind it; a test says what the receiver says."""

    def __init__(self, sink: Sink) -> None:
        self.sink = sink
        self.console: Runtime | None = None
        self.settings: dict[str, Value] = {"low_cut_hz": 0, "muted": False}
        self.revision = 1
        self.boot = "b1"
        self.written: list[Command] = []
        self.cancelled: list[Command] = []
        self.acted: list[tuple[Command, dict[str, Value]]] = []
        self.leases_taken = 0
        self.asked: list[str] = []
        self.retried: list[str] = []
        self.reachable = True
        self.running = False
        self.devices: tuple[DeviceAddress, ...] = ()
        self.broken: asyncio.Future[None] = asyncio.get_running_loop().create_future()

    def now(self) -> Moment:
        assert self.console is not None
        return self.console.now()

    # What the runtime calls.

    async def start(self, devices: Sequence[DeviceAddress]) -> None:
        self.running = True
        self.devices = tuple(devices)

    async def keep_only(self, devices: Sequence[DeviceAddress]) -> None:
        self.devices = tuple(devices)

    async def failed(self) -> None:
        with contextlib.suppress(asyncio.CancelledError):
            await self.broken

    async def stop(self) -> None:
        self.running = False
        self.broken.cancel()

    def retry_now(self, device_id: str) -> None:
        if device_id != DEVICE:
            raise NotFound("device", device_id)
        self.retried.append(device_id)

    async def write(self, command: Command) -> None:
        self.written.append(command)
        self._require_contact()

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        self.acted.append((command, dict(secrets)))
        self._require_contact()

    async def take_lease(self, device_id: str) -> None:
        assert device_id == DEVICE
        self.leases_taken += 1
        self._require_contact()

    async def cancel(self, command: Command) -> None:
        self.cancelled.append(command)
        self._require_contact()

    async def read_back(self, device_id: str, address: str) -> None:
        assert device_id == DEVICE
        self.asked.append(address)
        self._require_contact()

    def _require_contact(self) -> None:
        if not self.reachable:
            raise ContactFailed(DEVICE, "not in contact")

    # What the receiver says.

    def greet(self) -> None:
        """A new connection: the description, then all settings."""
        self.sink(Contact(self.now(), DEVICE, ContactState.FRESH, "", self.boot, DESCRIPTION))
        self.report_all()

    def beat(self) -> None:
        """A fresh heartbeat."""
        self.sink(Contact(self.now(), DEVICE, ContactState.FRESH, boot_id=self.boot))

    def lose(self) -> None:
        """The supervisor gives the contact up."""
        self.sink(Contact(self.now(), DEVICE, ContactState.LOST, "no heartbeat"))

    def report_all(self, *, read_back: bool = False) -> None:
        """All settings, as an answer to a read."""
        reports = tuple(
            SettingsReport(address, self._revision(), self.settings if address == PACK else {}, complete=True)
            for address in (PACK, CHANNEL, CARRIER, DEVICE)
        )
        asked = (PACK,) if read_back else ()
        self.sink(Observation(self.now(), DEVICE, reports=reports, read_back=asked))

    def answer(self, command: Command, answer: Answer) -> None:
        """An answer to a command."""
        self.sink(Observation(self.now(), DEVICE, answers=(CommandAnswer(command.command_id, answer),)))

    def obey(self, command: Command) -> None:
        """Accept a command, do it and report it."""
        self.answer(command, Answer.ACCEPTED)
        self.change(command.changes, Cause.COMMAND, command.command_id)

    def change(self, changes: Mapping[str, Value], cause: Cause = Cause.PANEL, command_id: str = "") -> None:
        """Settings change at the receiver, which reports them."""
        self.settings |= changes
        self.revision += 1
        report = SettingsReport(PACK, self._revision(), changes, cause, command_id)
        self.sink(Observation(self.now(), DEVICE, reports=(report,)))

    def _revision(self) -> str:
        return f"{self.boot}.{self.revision}"


class Started:
    """A running console and the receiver that it hears."""

    def __init__(self, runtime: Runtime, receiver: Receiver, clock: LoopClock) -> None:
        self.runtime = runtime
        self.receiver = receiver
        self.clock = clock

    def write(self, command_id: str = "c-1", **changes: Value) -> RequestWrite:
        """A write that saw what stands."""
        revision = self.runtime.settings(PACK).revision
        return RequestWrite(command_id, PACK, changes or {"low_cut_hz": 80}, revision)

    async def ask(self, command_id: str = "c-1", **changes: Value) -> Command:
        """Ask for a write and return the command."""
        command = await self.runtime.execute("Engineer", self.write(command_id, **changes))
        assert isinstance(command, Command)
        return command

    async def pass_time(self, seconds: float, *, beating: bool = True) -> None:
        """Let time pass, with a heartbeat every half second unless the receiver is silent."""
        for _ in range(round(seconds * 2)):
            await self.clock.sleep(0.5)
            if beating:
                self.receiver.beat()

    def journal(self) -> tuple[Recorded, ...]:
        """The whole journal."""
        return self.runtime.reader.events(limit=1_000)

    def kinds(self) -> list[str]:
        """The kinds of all events in the journal."""
        return [entry.event.kind for entry in self.journal()]


def plan_for(url: str, receivers: list[Receiver]) -> Plan:
    """A plan for one device; the receiver made for it is appended to ``receivers``."""

    def make_contacts(sink: Sink) -> Receiver:
        receivers.append(Receiver(sink))
        return receivers[-1]

    address = DeviceAddress(DEVICE, "ws://127.0.0.1:20001")
    return Plan(url, make_contacts, "0.1.0", (address,), PRODUCTION, InlineWriter)


@asynccontextmanager
async def started(url: str, *, greeted: bool = True, plan: Plan | None = None) -> AsyncIterator[Started]:
    """A console from start to stop; by default its receiver has greeted."""
    receivers: list[Receiver] = []
    whole = plan_for(url, receivers)
    if plan is not None:
        whole = replace(plan, make_contacts=whole.make_contacts)
    clock = LoopClock(UTC_START_US)
    runtime = await Runtime.start(whole, clock)
    console = Started(runtime, receivers[0], clock)
    console.receiver.console = runtime
    if greeted:
        console.receiver.greet()
    try:
        yield console
    finally:
        await runtime.stop()
