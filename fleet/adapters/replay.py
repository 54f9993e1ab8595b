"""The adapter that plays a recorded session back: the same facts in the same order, and nothing can be written."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from fleet.adapters.adapter import Sink
from fleet.adapters.trace import ContactLine, End, Entry, Frame, LayoutLine, ObservationLine
from fleet.adapters.trace_file import TraceReader
from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.config import DeviceAddress, Replay
from fleet.errors import ContactFailed, DamagedTrace
from fleet.model.command import Command
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.model.moment import Moment
from fleet.model.observation import (
    Answer,
    CommandAnswer,
    Contact,
    Layout,
    Observation,
    ReadingFrame,
    SettingsReport,
)

ENTRIES_READ_AT_ONCE = 256
REFUSAL = "unsupported: this is a recording that plays back, and nothing can be written to it"


@dataclass(slots=True)
class Tape:
    """A recording in its player. It outlives one contact, so that a recording that has ended stays ended."""

    replay: Replay
    ended: bool = False


class ReplayAdapter:
    """Plays a tape from its beginning; see ``Adapter`` for what each method promises.

    Facts come at the recorded pace, or ``speed`` times as fast, on the clock that was given. A tape that loops ends the
    contact at its end, and the next contact begins it anew; one that doesn't says nothing more and can't be begun
    again. What the device is said to be is simulated and read-only, whatever was recorded.
    """

    def __init__(self, device: DeviceAddress, tape: Tape, clock: Clock, sink: Sink) -> None:
        self._device_id = device.device_id
        self._tape = tape
        self._clock = clock
        self._sink = sink
        self._reader: TraceReader | None = None
        self._entries: Iterator[Entry] = iter(())
        self._read: list[Entry] = []
        self._layouts: dict[int, Layout] = {}
        self._reports: dict[str, SettingsReport] = {}
        self._began_us = 0
        self._first_us = 0
        self._damage: DamagedTrace | None = None
        self._introduced = False
        self._greeted = False

    # ------------------------------------------------------------ the interface

    async def connect(self) -> None:
        """Open the recording and play it up to the device's introduction."""
        if self._tape.ended:
            raise self._failed("the recording has ended")
        reader = self._reader = await asyncio.to_thread(TraceReader, self._tape.replay.file)
        if reader.header.device_id != self._device_id:
            raise self._failed(f"the recording is of {reader.header.device_id}")
        self._entries = reader.entries()
        while not self._greeted:
            await self._step()

    async def run(self) -> None:
        """Play on until the recording ends."""
        self._require_contact()
        while True:
            await self._step()

    async def write(self, command: Command) -> None:
        """Refuse: a recording can't be written to."""
        self._refuse(command)

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Refuse."""
        del secrets
        self._refuse(command)

    async def take_lease(self, device_id: str) -> None:
        """Do nothing: a recording has no lease."""
        del device_id
        self._require_contact()

    async def cancel(self, command: Command) -> None:
        """Refuse: no command is under way in a recording."""
        self._refuse(command)

    async def read_back(self, address: str) -> None:
        """Say again what was last reported of an address, where anything was."""
        self._require_contact()
        report = self._reports.get(address)
        reports = () if report is None else (report,)
        self._sink(Observation(self._now(), self._device_id, reports=reports, read_back=(address,)))

    async def close(self) -> None:
        """Let the file go."""
        self._introduced = False
        if self._reader is not None:
            self._reader.close()

    # ------------------------------------------------------------ playing

    def _failed(self, reason: str) -> ContactFailed:
        return ContactFailed(self._device_id, reason)

    def _require_contact(self) -> None:
        if not self._introduced:
            raise self._failed("not in contact")

    def _refuse(self, command: Command) -> None:
        self._require_contact()
        answer = CommandAnswer(command.command_id, Answer.REFUSED, REFUSAL)
        self._sink(Observation(self._now(), self._device_id, answers=(answer,)))

    def _now(self) -> Moment:
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    async def _step(self) -> None:
        """Play the next line when it is due."""
        entry = await self._next()
        if self._introduced:
            await self._until_due(entry)
        match entry:
            case ContactLine():
                self._play_contact(entry)
            case ObservationLine():
                self._play_observation(entry)
            case LayoutLine():
                self._layouts[entry.number] = Layout(tuple(entry.cells), entry.interval_ms)
            case End():
                raise self._ended(entry)
            case _:
                return  # What travelled is kept for people; the facts that were made of it are played.

    async def _next(self) -> Entry:
        """The next line, read ahead in a thread because a disk may be slow.

        Raises DamagedTrace once all that came before the damage was played.
        """
        if not self._read:
            if self._damage is not None:
                raise self._damage
            self._read, self._damage = await asyncio.to_thread(_some, self._entries)
            return await self._next()
        return self._read.pop()

    async def _until_due(self, entry: Entry) -> None:
        played_us = round((entry.monotonic_us - self._first_us) / self._tape.replay.speed)
        ahead_us = self._began_us + played_us - self._clock.monotonic_us()
        if ahead_us > 0:
            await self._clock.sleep(ahead_us / MICROSECONDS_PER_SECOND)

    def _ended(self, end: End) -> ContactFailed:
        if not self._introduced:
            return self._failed("the recording holds no introduction of the device")
        if self._tape.replay.loop:
            return self._failed("the recording ended and begins anew")
        self._tape.ended = True
        return self._failed(f"the recording has ended: {end.reason}")

    def _play_contact(self, line: ContactLine) -> None:
        at = self._now()
        if not self._introduced:
            self._introduced, self._began_us, self._first_us = True, at.monotonic_us, line.monotonic_us
        elif line.description is None:
            self._greeted = True
        description = None if line.description is None else as_replayed(line.description)
        self._sink(Contact(at, self._device_id, line.state, line.reason, line.boot_id, description))

    def _play_observation(self, line: ObservationLine) -> None:
        for report in line.reports:
            self._keep(report)
        frame = None if line.frame is None else self._frame(line.frame)
        at = self._now()
        said = (line.exact, line.reports, line.answers, line.notices, line.read_back)
        self._sink(Observation(at, self._device_id, frame, *said))

    def _frame(self, frame: Frame) -> ReadingFrame:
        qualities = frame.qualities
        return ReadingFrame(
            self._layouts[frame.layout],
            frame.sequence,
            frame.device_time_us,
            np.array(frame.values, dtype=np.float64),
            None if qualities is None else np.array(qualities, dtype=np.uint8),
            frame.coalesced,
            frame.age_us,
        )

    def _keep(self, report: SettingsReport) -> None:
        before = self._reports.get(report.address)
        settings = report.settings if report.complete or before is None else {**before.settings, **report.settings}
        whole = report.complete or (before is not None and before.complete)
        self._reports[report.address] = replace(report, settings=settings, complete=whole, command_id="")
        self._greeted = True


def as_replayed(description: DeviceDescription) -> DeviceDescription:
    """The description of a device that plays back: it looks simulated, says so, and can't be set."""
    form = f"replay · {description.form}" if description.form else "replay"
    return replace(description, form=form, simulated=True, read_only=True)


def _some(entries: Iterator[Entry]) -> tuple[list[Entry], DamagedTrace | None]:
    """The next entries, the first one last, and the damage that follows them, if it does."""
    read: list[Entry] = []
    try:
        for entry in islice(entries, ENTRIES_READ_AT_ONCE):
            read.append(entry)  # noqa: PERF402 - what came before the damage must stay.
    except DamagedTrace as damage:
        return read[::-1], damage
    return read[::-1], None
