"""Recording a session with one device, and saying what a recording holds."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from api.compose.ending import asked_to_end
from api.compose.ways_out import ways_out
from fleet.adapters.adapter import Adapter, Connect
from fleet.adapters.catalog import Catalog
from fleet.adapters.recording import Recording
from fleet.adapters.redaction import Redaction
from fleet.adapters.supervisor import SUPERVISOR_LIMITS
from fleet.adapters.trace import VERSION, Header
from fleet.adapters.trace_file import TraceReader, TraceWriter
from fleet.adapters.trace_summary import TraceSummary
from fleet.adapters.watch import WATCH_LIMITS, Watch
from fleet.clock import Clock, SystemClock
from fleet.config import Configuration, DeviceAddress, read_configuration
from fleet.errors import ContactFailed, InvalidDocument, RedpollError
from fleet.model.observation import Contact, Observation

ASKED_TO_END = "asked to end"
TIME_IS_OVER = "the time that was asked for is over"


@dataclass(frozen=True, slots=True)
class RecordOrder:
    """What to record: a device of a configuration, into which file, without names or with, for how long at most."""

    configuration: Path
    device_id: str
    file: Path
    redact: bool = False
    seconds: float | None = None


async def run_record(order: RecordOrder) -> int:
    """Record until asked to end, until the time is over, or until the contact ends, which is a failure.

    Raises InvalidDocument, ContactFailed, ProtocolError, LimitReached and OSError; what was recorded so far stays.
    """
    asked = asked_to_end()
    configuration = await asyncio.to_thread(read_configuration, order.configuration)
    device = _device_of(order, configuration)
    clock = SystemClock()
    with ways_out(configuration) as ways:
        session = RecordedSession(device, ways.outgoing.to(device), clock, lambda: begin_recording(order, clock))
        try:
            await session.run(asked, order.seconds)
        finally:
            sys.stdout.write("\n".join(await asyncio.to_thread(summary_of, order.file)) + "\n")
    return 0


async def run_replay(file: Path) -> int:
    """Say what a recording holds; what is damaged is said with its line. Raises DamagedTrace."""
    summary, damage = await asyncio.to_thread(_summed_up, file)
    sys.stdout.write("\n".join(summary.lines()) + "\n")
    if damage is not None:
        raise damage
    return 0


def begin_recording(order: RecordOrder, clock: Clock) -> Recording:
    """A recording that has begun. Raises InvalidDocument when the file's name is taken, OSError when the disk fails."""
    header = Header(
        version=VERSION,
        device_id=order.device_id,
        software=metadata.version("redpoll"),
        redacted=order.redact,
        part=1,
        monotonic_us=clock.monotonic_us(),
        utc_us=clock.utc_us(),
    )
    try:
        writer = TraceWriter(order.file, header)
    except FileExistsError as error:
        raise InvalidDocument(str(order.file), "the file", "a name that no file has yet") from error
    return Recording(writer, clock, Redaction(names=order.redact))


class RecordedSession:
    """One contact with one device, written down from its opening to its end."""

    def __init__(self, device: DeviceAddress, connect: Connect, clock: Clock, begin: Callable[[], Recording]) -> None:
        self._device = device
        self._recording = begin()
        self._watch = Watch(device.device_id, clock, _nobody_listens, WATCH_LIMITS, _raise)
        catalog = Catalog(lambda _: self._recording.connect(connect), clock)
        self._adapter: Adapter = catalog.adapter(device, self._recording.sink(self._watch.heard))

    async def run(self, asked: asyncio.Event, seconds: float | None = None) -> None:
        """Record until ``asked``, for ``seconds`` at most. Raises what ended the contact, or the recording, earlier."""
        contact = asyncio.create_task(self._contact(), name="the recorded contact")
        others = [
            asyncio.create_task(asked.wait(), name="asked to end"),
            asyncio.create_task(self._recording.stopped.wait(), name="the recording stopped"),
        ]
        try:
            await asyncio.wait((contact, *others), timeout=seconds, return_when=asyncio.FIRST_COMPLETED)
            self._end(contact, asked=asked.is_set())
        finally:
            for task in (contact, *others):
                task.cancel()
            await asyncio.gather(contact, *others, return_exceptions=True)
            self._watch.stop()
            await self._adapter.close()

    async def _contact(self) -> None:
        try:
            async with asyncio.timeout(SUPERVISOR_LIMITS.connect_s):
                await self._adapter.connect()
        except TimeoutError as error:
            reason = f"no greeting within {SUPERVISOR_LIMITS.connect_s:g} s"
            raise ContactFailed(self._device.device_id, reason) from error
        await self._watch.until_lost(self._adapter.run())

    def _end(self, contact: asyncio.Task[None], *, asked: bool) -> None:
        """End the recording with the reason, and raise what failed."""
        failure = contact.exception() if contact.done() and not contact.cancelled() else None
        self._recording.end(_reason_of(failure, asked=asked), heard=failure is not None)
        if self._recording.failure is not None:
            raise self._recording.failure
        if failure is not None:
            raise failure


def _reason_of(failure: BaseException | None, *, asked: bool) -> str:
    if isinstance(failure, RedpollError):
        return str(failure)
    if failure is not None:
        return "an error within the recorder"
    return ASKED_TO_END if asked else TIME_IS_OVER


def _nobody_listens(_item: Observation | Contact) -> None:
    """What the watch says goes nowhere: the recording has it from the adapter itself."""


def _raise(defect: Exception) -> None:
    """A sink that does nothing has no defects; were there one, it would be said by the loop."""
    raise defect


def _device_of(order: RecordOrder, configuration: Configuration) -> DeviceAddress:
    devices = {device.device_id: device for device in configuration.devices}
    device = devices.get(order.device_id)
    if device is None:
        known = ", ".join(sorted(devices)) or "none"
        raise InvalidDocument(
            str(order.configuration), "device", f"one with that id (it lists {known})", order.device_id
        )
    return device


def summary_of(file: Path) -> list[str]:
    """The summary of a recording in words, as far as it is good."""
    try:
        return _summed_up(file)[0].lines()
    except RedpollError as damage:
        return [str(damage)]


def _summed_up(file: Path) -> tuple[TraceSummary, RedpollError | None]:
    reader = TraceReader(file)
    summary = TraceSummary(reader.header)
    try:
        for entry in reader.entries():
            summary.add(entry)
    except RedpollError as damage:
        return summary, damage
    return summary, None
