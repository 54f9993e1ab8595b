"""The adapter for devices that speak the open device protocol, by themselves or behind a gateway."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Mapping
from functools import partial

from fleet.adapters.adapter import Connect, Sink
from fleet.adapters.device_time import Pulse
from fleet.adapters.open_json_device import PresentedDevice
from fleet.adapters.open_json_facts import gateway_description, is_gateway, require_listed
from fleet.adapters.open_json_line import OPEN_JSON_LIMITS, Asked, Line, OpenJsonLimits
from fleet.clock import Clock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed, UnexpectedMessage
from fleet.model.command import Command
from fleet.model.device import ContactState, DeviceDescription
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.model.observation import Contact
from fleet.protocol import messages
from fleet.protocol.received import Gap, Rebooted, Received, Refusal, Result

CLIENT = "Redpoll console"
GATEWAY_DEVICES_MAXIMUM = 64
"""Devices behind one gateway; one that presents more is refused whole."""
COMMANDS_REMEMBERED = 1_000


class OpenJsonAdapter:
    """One contact with one address; see ``Adapter`` for what each method promises.

    Behind the address is a device, or a gateway that presents several. Of a gateway the console hears as of a device of
    its own, which is fresh while it or anything behind it is; and of each device as if it had an address.
    """

    def __init__(
        self,
        device: DeviceAddress,
        open_transport: Connect,
        clock: Clock,
        sink: Sink,
        limits: OpenJsonLimits = OPEN_JSON_LIMITS,
    ) -> None:
        self._listed = device
        self._open_transport = open_transport
        self._sink = sink
        self._interval_ms = limits.interval_ms
        self._line = Line(device.device_id, clock, limits)
        self._session = self._line.session
        self._devices: dict[str, PresentedDevice] = {}
        self._gateway: DeviceDescription | None = None
        self._gateway_pulse = Pulse()
        self._sent_to: dict[str, str] = {}
        self._framed: dict[int, PresentedDevice] = {}
        self._ready = False

    # ------------------------------------------------------------ the interface

    async def connect(self) -> None:
        """Open, greet, have every device described, read and subscribed."""
        await self._line.open(self._open_transport, self._listed.url)
        self._line.ask(lambda: self._session.hello(CLIENT))
        await self._line.listen(self._hear, until=lambda: self._ready)

    async def run(self) -> None:
        """Hand on what comes until the contact ends."""
        self._require_contact()
        await self._line.listen(self._hear, until=lambda: False)

    async def write(self, command: Command) -> None:
        """Send a write."""
        target, command_id, revision, changes = command.target, command.command_id, command.revision, command.changes
        await self._send(command, lambda: self._session.write(target, command_id, revision, changes))

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Send an act."""
        target, command_id, arguments = command.target, command.command_id, {**command.changes, **secrets}
        await self._send(command, lambda: self._session.act(target, command_id, command.act, arguments))

    async def _send(self, command: Command, request: Callable[[], int]) -> None:
        self._require_contact()
        if len(self._sent_to) >= COMMANDS_REMEMBERED:
            del self._sent_to[next(iter(self._sent_to))]
        self._sent_to[command.command_id] = command.device_id
        self._line.ask(request, Asked(device_id=command.device_id, command_id=command.command_id))
        await self._line.flush()

    async def take_lease(self, device_id: str) -> None:
        """Ask for the lease, whoever has it."""
        self._require_contact()
        self._device(device_id).lease.ask(take=True)
        await self._line.flush()

    async def cancel(self, command: Command) -> None:
        """Ask for a command to be given up; the outcome tells whether it was."""
        self._require_contact()
        request = partial(self._session.cancel, command.target, command.command_id)
        self._line.ask(request, Asked(device_id=command.device_id))
        await self._line.flush()

    async def read_back(self, address: str) -> None:
        """Ask for the settings of an address once more."""
        self._require_contact()
        asked = Asked(device_id=self._with_address(address).device_id, read_back=address)
        self._line.ask(lambda: self._session.read(address), asked)
        await self._line.flush()

    async def close(self) -> None:
        """Give leases back and drop the connection; frames that still wait are let go."""
        leased = self._ready and any(device.lease.ours for device in self._devices.values())
        self._ready = False
        for device in self._devices.values():
            device.frames.end_all()
        if leased:
            with contextlib.suppress(ContactFailed):  # With the connection the leases end as well.
                for device in self._devices.values():
                    device.lease.release()
                await self._line.flush()
        await self._line.close()

    def _require_contact(self) -> None:
        if not self._ready:
            raise self._line.failed("not in contact")

    def _device(self, device_id: str) -> PresentedDevice:
        device = self._devices.get(device_id)
        if device is None:
            raise self._line.failed(f"{device_id} is not there")
        return device

    # ------------------------------------------------------------ what is said

    def _hear(self, item: Received) -> None:
        if isinstance(item, messages.Readings):
            device = self._framed.get(item.subscription) or self._with_subscription(item.subscription)
            device.frames.take(item, device.known)
            return
        for device in self._devices.values():
            device.frames.hand_on()
        at = self._line.now()
        match item:
            case messages.Heartbeat():
                self._heard_heartbeat(item, at)
            case Result():
                self._heard_result(item, at)
            case Refusal():
                self._heard_refusal(item, at)
            case Rebooted(target=target):
                if not target:
                    raise self._line.failed("the device restarted")
                self._device(target).restarted()
            case _:
                self._heard_news(item, at)

    def _heard_news(self, item: Received, at: Moment) -> None:
        match item:
            case messages.Changed():
                self._with_address(item.address).heard_changed(item, at)
            case messages.Outcome():
                for device in self._with_command(item.command_id):
                    device.heard_outcome(item, at)
            case messages.Progress():
                for device in self._with_command(item.command_id):
                    device.heard_progress(item, at)
            case messages.Leased():
                self._device(item.target).heard_leased(item, at)
            case messages.Described():
                self._with_target(item.target).heard_described()
            case messages.Notice():
                self._with_target(item.target).heard_words(item.code, item.words, at)
            case Gap():
                self._with_subscription(item.subscription).heard_gap(item, at)
            case _:
                raise UnexpectedMessage(type(item).__name__, self._session.state.value)

    def _heard_result(self, result: Result, at: Moment) -> None:
        asked = self._line.asked_for(result)
        if isinstance(result.body, messages.HelloResult):
            self._heard_hello(result.body, at)
            return
        self._framed.clear()
        self._device(asked.device_id).heard_result(result, asked, at)
        self._ready = self._ready or all(device.greeted for device in self._devices.values())

    def _heard_refusal(self, refusal: Refusal, at: Moment) -> None:
        asked = self._line.asked_for(refusal)
        if not asked.device_id:
            raise self._line.failed(f"the device refused to {refusal.method}: {refusal.word}: {refusal.words}")
        self._device(asked.device_id).heard_refusal(refusal, asked, at)
        self._ready = self._ready or all(device.greeted for device in self._devices.values())

    def _heard_hello(self, hello: messages.HelloResult, at: Moment) -> None:
        gateway = is_gateway(hello, self._listed.device_id)
        if len(hello.devices) > GATEWAY_DEVICES_MAXIMUM:
            raise self._line.failed(f"a gateway of {len(hello.devices)} devices; at most {GATEWAY_DEVICES_MAXIMUM}")
        for summary in hello.devices:
            told = self._listed.device_id if gateway else summary.id
            require_listed(told, simulated=summary.simulated, listed=self._listed)
        self._line.share_among(len(hello.devices))
        for summary in hello.devices:
            device = PresentedDevice(summary, self._listed, self._line, self._sink, self._interval_ms)
            self._devices[summary.id] = device
        if gateway and self._listed.device_id not in self._devices:
            self._gateway = gateway_description(hello, self._listed.device_id)
            self._sink(self._gateway_contact(at, self._gateway))
        for device in self._devices.values():
            device.begin()

    def _gateway_contact(self, at: Moment, description: DeviceDescription | None = None) -> Contact:
        boot_id = self._session.boot_id
        return Contact(at, self._listed.device_id, ContactState.FRESH, boot_id=boot_id, description=description)

    def _heard_heartbeat(self, heartbeat: messages.Heartbeat, at: Moment) -> None:
        if self._gateway is None:
            self._with_target(heartbeat.target).heard_heartbeat(heartbeat, at)
            return
        if heartbeat.target:
            alive = self._device(heartbeat.target).heard_heartbeat(heartbeat, at)
        else:
            beat = self._gateway_pulse.beat(heartbeat.device_time_us, heartbeat.counter)
            alive = beat and not self._line.is_too_old(self._line.age_us(heartbeat.device_time_us, at))
        if alive and self._ready:
            self._sink(self._gateway_contact(at))

    # ------------------------------------------------------------ of whom it is said

    def _with_target(self, target: str) -> PresentedDevice:
        """The device that is named, or the only one; what a gateway says of itself alone is told of its first."""
        return self._device(target) if target else self._devices.get(self._listed.device_id) or self._first()

    def _first(self) -> PresentedDevice:
        return next(iter(self._devices.values()))

    def _with_address(self, address: str) -> PresentedDevice:
        """Who described the address; what nobody described is the first one's to refuse."""
        return next((each for each in self._devices.values() if address in each.known), self._first())

    def _with_subscription(self, subscription: int) -> PresentedDevice:
        """Whose frames they are, looked up once: a number is used again only after the devices were asked anew."""
        found = (each for each in self._devices.values() if subscription in each.frames.subscriptions)
        device = self._framed[subscription] = next(found, self._first())
        return device

    def _with_command(self, command_id: str) -> Iterable[PresentedDevice]:
        """The device that a command was sent to; one of an earlier connection may be any's, and is told to all."""
        device = self._devices.get(self._sent_to.get(command_id, ""))
        return self._devices.values() if device is None else (device,)
