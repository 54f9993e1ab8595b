"""The adapter for devices that speak the open device protocol."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from functools import partial

from fleet.adapters.adapter import Connect, Sink
from fleet.adapters.device_time import Pulse
from fleet.adapters.frame_batch import FrameBatch
from fleet.adapters.open_json_facts import (
    answer_of_outcome,
    answer_of_refusal,
    known_in,
    layout_of,
    report_of,
    reports_of,
    require_known,
    require_listed,
)
from fleet.adapters.open_json_line import OPEN_JSON_LIMITS, Asked, Line, OpenJsonLimits
from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.config import DeviceAddress
from fleet.errors import MalformedMessage, UnexpectedMessage
from fleet.model.command import Command
from fleet.model.device import ContactState, DeviceDescription
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.model.observation import Answer, CommandAnswer, Contact, Notice, Observation
from fleet.protocol import messages
from fleet.protocol.received import Gap, Rebooted, Received, Refusal, Result

CLIENT = "Redpoll console"
HELD_MAXIMUM = 1_000
LEASE_S = 30
HAND_ON_EVERY_US = 50_000
"""Frames of one device are handed on this often at the most, which is twice as often as anybody looks at them."""


class OpenJsonAdapter:
    """One contact with one device; see ``Adapter`` for what each method promises.

    Greeting is a chain: each answer sends the next request (hello, describe, read, subscribe). Only at its end is the
    device introduced to the sink, and whatever it said meanwhile follows. A device that announces a new description
    goes through the later part of the chain again without losing contact.
    """

    def __init__(
        self,
        device: DeviceAddress,
        open_transport: Connect,
        clock: Clock,
        sink: Sink,
        limits: OpenJsonLimits = OPEN_JSON_LIMITS,
    ) -> None:
        self._device = device
        self._device_id = device.device_id
        self._open_transport = open_transport
        self._sink = sink
        self._interval_ms = limits.interval_ms
        self._line = Line(device.device_id, clock, limits)
        self._session = self._line.session
        self._known: frozenset[str] = frozenset()
        self._batches: dict[int, FrameBatch] = {}
        self._waiting: FrameBatch | None = None
        self._handed_on_us = 0
        self._handing_on: asyncio.Handle | None = None
        self._description: DeviceDescription | None = None
        self._ready = False
        self._introducing = True
        self._outdated = False
        self._read_whole = False
        self._held: list[Observation] = []
        self._refused_reads: dict[str, str] = {}
        self._pulse = Pulse()

    # ------------------------------------------------------------ the interface

    async def connect(self) -> None:
        """Open, greet, have described, read and subscribed."""
        await self._line.open(self._open_transport, self._device.url)
        self._line.ask(lambda: self._session.hello(CLIENT))
        await self._line.listen(self._hear, until=lambda: self._ready)

    async def run(self) -> None:
        """Hand on what comes until the contact ends."""
        self._require_contact()
        await self._line.listen(self._hear, until=lambda: False)

    async def write(self, command: Command) -> None:
        """Send a write."""
        self._require_contact()
        target, command_id = command.target, command.command_id
        self._line.ask(
            lambda: self._session.write(target, command_id, command.revision, command.changes), command_id=command_id
        )
        await self._line.flush()

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Send an act."""
        self._require_contact()
        target, command_id, arguments = command.target, command.command_id, {**command.changes, **secrets}
        self._line.ask(lambda: self._session.act(target, command_id, command.act, arguments), command_id=command_id)
        await self._line.flush()

    async def take_lease(self, device_id: str) -> None:
        """Ask for the lease, whoever has it."""
        self._require_contact()
        self._line.ask(lambda: self._session.lease(device_id, LEASE_S, take=True))
        await self._line.flush()

    async def cancel(self, command: Command) -> None:
        """Ask for a command to be given up; the outcome tells whether it was."""
        self._require_contact()
        self._line.ask(lambda: self._session.cancel(command.target, command.command_id))
        await self._line.flush()

    async def read_back(self, address: str) -> None:
        """Ask for the settings of an address once more."""
        self._require_contact()
        self._line.ask(lambda: self._session.read(address), read_back=address)
        await self._line.flush()

    async def close(self) -> None:
        """Drop the connection; frames that still wait are let go."""
        self._ready = False
        self._waiting = None
        self._stop_timer()
        await self._line.close()

    def _require_contact(self) -> None:
        if not self._ready:
            raise self._line.failed("not in contact")

    # ------------------------------------------------------------ what the device says

    def _hear(self, item: Received) -> None:
        if isinstance(item, messages.Readings):
            self._heard_readings(item)
            return
        self._hand_on_frames()
        at = self._line.now()
        match item:
            case messages.Heartbeat():
                self._heard_heartbeat(item, at)
            case Result():
                self._heard_result(item, at)
            case Refusal():
                self._heard_refusal(item, at)
            case messages.Described():
                self._heard_described()
            case Rebooted():
                raise self._line.failed("the device restarted")
            case _:
                self._heard_news(item, at)

    def _heard_news(self, item: Received, at: Moment) -> None:
        match item:
            case messages.Changed():
                if not item.command_id:
                    self._line.count_change()
                if self._read_whole:  # Else the read that is under way has it.
                    self._emit(Observation(at, self._device_id, reports=(report_of(item, self._known),)))
            case messages.Outcome():
                self._emit(Observation(at, self._device_id, answers=(answer_of_outcome(item),)))
            case messages.Notice():
                self._emit(Observation(at, self._device_id, notices=(Notice(item.code, item.words),)))
            case Gap():
                words = f"{item.received - item.expected} frames of readings are missing"
                self._emit(Observation(at, self._device_id, notices=(Notice("readings gap", words),)))
            case _:
                raise UnexpectedMessage(type(item).__name__, self._session.state.value)

    def _heard_described(self) -> None:
        """Have the device described again; where that is under way, once more afterwards."""
        self._outdated = self._introducing
        if not self._introducing:
            self._introducing = True
            self._line.ask(lambda: self._session.describe(self._device_id))

    def _emit(self, observation: Observation) -> None:
        """Hand an observation on; while the device is being introduced it waits, with at most a thousand others."""
        if not self._introducing:
            self._sink(observation)
            return
        if len(self._held) >= HELD_MAXIMUM:
            raise MalformedMessage(f"more than {HELD_MAXIMUM} messages while it was asked what it is")
        self._held.append(observation)

    def _heard_readings(self, readings: messages.Readings) -> None:
        """Keep a frame until frames are handed on; one that says more than values goes on by itself."""
        batch = self._batches[readings.subscription]
        if self._waiting is not batch:
            self._hand_on_frames()
        if readings.exact or readings.qualities:
            self._hand_on_frames()
            self._hand_on_alone(readings, batch)
            return
        room = batch.add(readings)
        if self._waiting is None:
            self._waiting = batch
            self._start_timer()
        if not room:
            self._hand_on_frames()

    def _start_timer(self) -> None:
        """Hand on at the end of this pass of the loop, or later where frames were handed on just now."""
        wait_us = self._handed_on_us + HAND_ON_EVERY_US - self._line.now().monotonic_us
        loop = asyncio.get_running_loop()
        if wait_us > 0:
            self._handing_on = loop.call_later(wait_us / MICROSECONDS_PER_SECOND, self._hand_on_frames)
        else:
            self._handing_on = loop.call_soon(self._hand_on_frames)

    def _stop_timer(self) -> None:
        handle, self._handing_on = self._handing_on, None
        if handle is not None:
            handle.cancel()

    def _hand_on_frames(self) -> None:
        batch, self._waiting = self._waiting, None
        if batch is None or batch.newest_us is None:
            return
        self._stop_timer()
        at = self._line.now()
        self._handed_on_us = at.monotonic_us
        age_us = self._line.age_us(batch.newest_us, at)
        frame = batch.take(age_us, too_old=self._line.is_too_old(age_us))
        self._sink(Observation(at, self._device_id, frame))

    def _hand_on_alone(self, readings: messages.Readings, batch: FrameBatch) -> None:
        require_known(readings.exact, self._known)
        at = self._line.now()
        age_us = self._line.age_us(readings.device_time_us, at)
        frame = batch.alone(readings, age_us, too_old=self._line.is_too_old(age_us))
        self._sink(Observation(at, self._device_id, frame, readings.exact))

    def _heard_heartbeat(self, heartbeat: messages.Heartbeat, at: Moment) -> None:
        fresh = self._pulse.beat(heartbeat.device_time_us, heartbeat.counter)
        too_old = self._line.is_too_old(self._line.age_us(heartbeat.device_time_us, at))
        if fresh and self._ready and not too_old:
            self._sink(Contact(at, self._device_id, ContactState.FRESH, boot_id=heartbeat.boot_id))

    def _heard_result(self, result: Result, at: Moment) -> None:
        asked = self._line.asked_for(result)
        body = result.body
        match body:
            case messages.HelloResult():
                self._heard_hello(body)
            case messages.DescribeResult():
                self._heard_description(body)
            case messages.ReadResult():
                self._heard_settings(body, asked, at)
            case messages.SubscribeResult():
                self._heard_layout(body, at)
            case messages.WriteResult() | messages.ActResult():
                answer = CommandAnswer(asked.command_id, Answer(body.state))
                self._emit(Observation(at, self._device_id, answers=(answer,)))
            case messages.UnsubscribeResult():
                self._batches.pop(-1 if asked.ending is None else asked.ending, None)
            case messages.CancelResult() | messages.LeaseResult() | messages.ReleaseResult():
                pass  # The outcome of a cancelled command follows by itself.

    def _heard_hello(self, hello: messages.HelloResult) -> None:
        if len(hello.devices) != 1:
            raise self._line.failed(
                f"{len(hello.devices)} devices behind one connection; gateways are not supported yet"
            )
        said = hello.devices[0]
        require_listed(said.id, simulated=said.simulated, listed=self._device)
        self._line.ask(lambda: self._session.describe(self._device_id))

    def _heard_description(self, described: messages.DescribeResult) -> None:
        require_listed(self._device_id, simulated=described.description.simulated, listed=self._device)
        self._known = known_in(described.description, self._device_id)
        self._description = described.description
        self._read_whole = False
        self._line.ask(lambda: self._session.read(self._device_id))

    def _heard_settings(self, result: messages.ReadResult, asked: Asked, at: Moment) -> None:
        reports = reports_of(result, self._known)
        require_known(result.exact, self._known)
        self._refused_reads.pop(asked.read_back, None)
        read_back = (asked.read_back,) if asked.read_back else ()
        self._emit(Observation(at, self._device_id, exact=result.exact, reports=reports, read_back=read_back))
        if not asked.read_back:
            self._read_whole = True
            self._line.ask(lambda: self._session.subscribe(self._device_id, self._interval_ms))

    def _heard_layout(self, result: messages.SubscribeResult, at: Moment) -> None:
        layout = layout_of(result, self._known)
        for subscription in self._batches.keys() - self._line.ending():
            end = partial(self._session.unsubscribe, self._device_id, subscription)
            self._line.ask(end, ending=subscription)
        self._batches[result.subscription] = FrameBatch(layout)
        self._ready = True
        self._introduce(at)

    def _introduce(self, at: Moment) -> None:
        """The description first, then, in order, what was said meanwhile."""
        boot_id = self._session.boot_id
        self._sink(Contact(at, self._device_id, ContactState.FRESH, "", boot_id, self._description))
        self._introducing = False
        held, self._held = self._held, []
        for observation in held:
            self._sink(observation)
        if self._outdated:
            self._heard_described()

    def _heard_refusal(self, refusal: Refusal, at: Moment) -> None:
        asked = self._line.asked_for(refusal)
        what = f"{refusal.method} {asked.read_back}".rstrip()
        said = f"{what}: {refusal.word}: {refusal.words}"
        if asked.command_id:
            self._emit(Observation(at, self._device_id, answers=(answer_of_refusal(asked.command_id, refusal),)))
        elif asked.read_back:
            self._read_refused(asked.read_back, refusal.word, said, at)
        elif refusal.method in {"cancel", "unsubscribe"}:
            self._emit(Observation(at, self._device_id, notices=(Notice(refusal.word, said),)))
        else:
            raise self._line.failed(f"the device refused to {said}")

    def _read_refused(self, address: str, word: str, said: str, at: Moment) -> None:
        """Say so once: reads of an unknown outcome go on for as long as it is unknown, and would fill the journal."""
        if self._refused_reads.get(address) != word:
            self._refused_reads[address] = word
            self._emit(Observation(at, self._device_id, notices=(Notice(word, said),)))
