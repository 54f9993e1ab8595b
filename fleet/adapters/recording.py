"""Records a session with a device, whatever its adapter: the messages both ways, and the facts made of them."""

from __future__ import annotations

import asyncio
import math
from typing import Literal

from fleet.adapters.adapter import Connect, Sink, Transport
from fleet.adapters.redaction import Redaction
from fleet.adapters.trace import ContactLine, Entry, Frame, LayoutLine, Message, ObservationLine
from fleet.adapters.trace_file import TraceWriter
from fleet.adapters.trace_order import LAYOUTS_MAXIMUM
from fleet.clock import Clock
from fleet.errors import LimitReached
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Layout, Observation, ReadingFrame


class Recording:
    """Stands on both sides of one adapter: give the adapter ``connect`` of its transport and ``sink`` of its sink.

    One session, one recording, which plays back as one device: behind a gateway the messages are those of all, the
    facts those of the gateway alone. A recording that fails (the disk does, or its bound is met) harms nothing else: it
    stops, ``stopped`` is set and ``failure`` says why.
    """

    def __init__(self, writer: TraceWriter, clock: Clock, redaction: Redaction) -> None:
        self._writer = writer
        self._clock = clock
        self._redaction = redaction
        self._device_id = ""
        self._layouts: dict[Layout, int] = {}
        self.stopped = asyncio.Event()
        self.failure: OSError | LimitReached | None = None

    def connect(self, connect: Connect) -> Connect:
        """The same way to connect, every message written down."""

        async def tapped(url: str) -> Transport:
            return _Tap(await connect(url), self)

        return tapped

    def sink(self, sink: Sink) -> Sink:
        """The same sink, every fact written down first."""

        def hear(item: Observation | Contact) -> None:
            self._device_id = self._device_id or item.device_id
            if item.device_id == self._device_id:
                self._fact(item)
            sink(item)

        return hear

    def message(self, way: Literal["sent", "received"], data: bytes | str) -> None:
        """Write a message down as far as it may be."""
        at = self._now()
        size = len(data if isinstance(data, bytes) else data.encode(errors="replace"))
        text = self._redaction.text_of(data)
        self._write(Message(monotonic_us=at.monotonic_us, utc_us=at.utc_us, way=way, size_bytes=size, text=text))

    def end(self, reason: str, *, heard: bool = False) -> None:
        """End the recording, saying why; harmless when it has ended. ``heard`` words may hold a device's own."""
        try:
            self._writer.close(self._now(), self._redaction.words(reason) if heard else reason)
        except OSError as error:
            self._stop(error)

    def _write(self, entry: Entry, *, flush: bool = False) -> None:
        try:
            self._writer.write(entry)
            if flush:
                self._writer.flush()
        except (OSError, LimitReached) as error:
            self._stop(error)

    def _stop(self, failure: OSError | LimitReached) -> None:
        self.failure = failure
        self.stopped.set()
        self._writer.abandon()

    def _now(self) -> Moment:
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    def _fact(self, item: Observation | Contact) -> None:
        if isinstance(item, Contact):
            self._contact(item)
        else:
            self._observation(item)

    def _contact(self, contact: Contact) -> None:
        if contact.description is not None:
            self._redaction.learn(contact.description)
        at = self._now()
        line = ContactLine(
            monotonic_us=at.monotonic_us,
            utc_us=at.utc_us,
            state=contact.state,
            boot_id=contact.boot_id,
            reason=self._redaction.words(contact.reason),
            description=contact.description,
        )
        self._write(line, flush=True)  # Once a heartbeat, so that a console that dies loses a second.

    def _observation(self, said: Observation) -> None:
        frame = None if said.frame is None else self._frame(said.frame)
        at = self._now()
        line = ObservationLine(
            monotonic_us=at.monotonic_us,
            utc_us=at.utc_us,
            frame=frame,
            exact={address: self._redaction.readings(readings) for address, readings in said.exact.items()},
            reports=tuple(map(self._redaction.report, said.reports)),
            answers=tuple(map(self._redaction.answer, said.answers)),
            notices=tuple(map(self._redaction.notice, said.notices)),
            read_back=said.read_back,
        )
        self._write(line)

    def _frame(self, frame: ReadingFrame) -> Frame:
        values: list[float] = frame.values.tolist()
        return Frame(
            layout=self._number_of(frame.layout),
            sequence=frame.sequence,
            device_time_us=frame.device_time_us,
            values=[None if math.isnan(value) else value for value in values],
            qualities=None if frame.qualities is None else frame.qualities.tolist(),
            coalesced=frame.coalesced,
            age_us=frame.age_us,
        )

    def _number_of(self, layout: Layout) -> int:
        """The number of a layout, which is written down when it comes first."""
        number = self._layouts.get(layout)
        if number is None:
            if len(self._layouts) >= LAYOUTS_MAXIMUM:
                self._stop(LimitReached("layouts of a recording", LAYOUTS_MAXIMUM))
                return 0
            number = self._layouts[layout] = len(self._layouts) + 1
            at = self._now()
            line = LayoutLine(
                monotonic_us=at.monotonic_us,
                utc_us=at.utc_us,
                number=number,
                interval_ms=layout.interval_ms,
                cells=list(layout.cells),
            )
            self._write(line)
        return number


class _Tap:
    """A transport that writes down what passes through it."""

    def __init__(self, transport: Transport, recording: Recording) -> None:
        self._transport = transport
        self._recording = recording

    async def send(self, message: bytes) -> None:
        """Send, then write down: what is in the trace went out."""
        await self._transport.send(message)
        self._recording.message("sent", message)

    async def receive(self) -> bytes | str:
        """Receive, and write down what came."""
        message = await self._transport.receive()
        self._recording.message("received", message)
        return message

    async def close(self) -> None:
        """End the connection."""
        await self._transport.close()
