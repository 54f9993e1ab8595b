"""Recordings for tests: a session with the fake device on virtual time, written down and played back."""

from __future__ import annotations

import math
from collections.abc import Awaitable, Callable
from pathlib import Path

from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.recording import Recording
from fleet.adapters.redaction import Redaction
from fleet.adapters.replay import ReplayAdapter, Tape, as_replayed
from fleet.adapters.trace import VERSION, Header
from fleet.adapters.trace_file import TraceWriter
from fleet.clock import Clock
from fleet.config import DeviceAddress, Replay
from fleet.errors import ContactFailed, ProtocolError
from fleet.model.device import DeviceDescription
from fleet.model.observation import Contact, Observation
from tests.adapters.rig import DEVICE_ID, Heard, Rig, in_contact

RECORDED_S = 6.0
Doing = Callable[[Rig], Awaitable[None]]


def header(clock: Clock, *, redacted: bool = False, device_id: str = DEVICE_ID) -> Header:
    """The first line of a recording that begins now."""
    return Header(
        version=VERSION,
        device_id=device_id,
        software="test",
        redacted=redacted,
        part=1,
        monotonic_us=clock.monotonic_us(),
        utc_us=clock.utc_us(),
    )


async def nothing(_rig: Rig) -> None:
    """A session in which nobody does anything."""


async def record(
    file: Path, doing: Doing = nothing, *, names: bool = False, part_bytes: int = 1 << 20, seconds: float = RECORDED_S
) -> Rig:
    """Record a session with the fake device; returns what was heard meanwhile."""
    rig = Rig(OpenJsonAdapter)
    writer = TraceWriter(file, header(rig.clock, redacted=names), part_bytes=part_bytes)
    recording = Recording(writer, rig.clock, Redaction(names=names))
    connect = recording.connect(rig.network.connect)
    rig.adapter = OpenJsonAdapter(rig.address, connect, rig.clock, recording.sink(rig.heard))
    async with in_contact(rig):
        await rig.clock.sleep(0.05)
        await doing(rig)
        await rig.clock.sleep(seconds)
        recording.end("asked to end")
    assert recording.failure is None
    return rig


class ReplayRig(Rig):
    """A console's end and a recording."""

    def __init__(self, file: Path, speed: float = 1.0, *, loop: bool = False) -> None:
        super().__init__(OpenJsonAdapter)
        self.tape = Tape(Replay(file, speed, loop))
        self.address = DeviceAddress(DEVICE_ID, f"replay:{file.name}", self.tape.replay)
        self.again()

    def again(self) -> None:
        """Make an adapter for another contact with the same recording."""
        self.heard = Heard()
        self.adapter = ReplayAdapter(self.address, self.tape, self.clock, self.heard)

    @property
    def described(self) -> DeviceDescription:
        return as_replayed(self.device.description)

    async def play_to_the_end(self) -> Exception:
        """Play until the contact ends by itself; returns what ended it."""
        try:
            await self.adapter.connect()
            await self.adapter.run()
        except (ContactFailed, ProtocolError) as error:
            return error
        finally:
            await self.adapter.close()
        raise AssertionError("a contact ends by raising")


async def replaying(file: Path) -> Rig:
    """A rig with a recording of the fake device."""
    await record(file)
    return ReplayRig(file)


def timeless(items: list[Observation | Contact]) -> list[object]:
    """What was said, without the moments, in a form that compares."""
    return [_timeless_contact(item) if isinstance(item, Contact) else _timeless(item) for item in items]


def _timeless_contact(contact: Contact) -> object:
    return (contact.state, contact.boot_id, contact.reason, contact.description is not None)


def _timeless(said: Observation) -> object:
    frame = said.frame
    shown = None
    if frame is not None:
        values = [None if math.isnan(value) else value for value in frame.values.tolist()]
        qualities = None if frame.qualities is None else frame.qualities.tolist()
        layout = (frame.layout.cells, frame.layout.interval_ms)
        shown = (layout, frame.sequence, frame.device_time_us, values, qualities, frame.coalesced, frame.age_us)
    return (shown, said.exact, said.reports, said.answers, said.notices, said.read_back)
