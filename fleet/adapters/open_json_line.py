"""One connection to a device that speaks the open protocol: its session, what was asked of it, what it may cost."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, replace

from fleet.adapters.adapter import Connect, Transport
from fleet.adapters.device_time import DeviceTime, RoundTrip
from fleet.adapters.pace import Flood
from fleet.clock import Clock
from fleet.errors import ContactFailed, LimitReached, MalformedMessage, UnexpectedMessage
from fleet.model.moment import Moment
from fleet.protocol.received import Received, Refusal, Result
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role


@dataclass(frozen=True, slots=True)
class OpenJsonLimits:
    """The bounds of one contact. Whatever passes one ends the contact with a reason.

    A message counts once, and once more for each 4 KiB of it.
    """

    send_s: float = 2.0
    answer_s: float = 10.0
    messages_per_second: int = 1_000
    changes_per_minute: int = 1_200
    interval_ms: int = 100
    too_old_us: int = 2_000_000


OPEN_JSON_LIMITS = OpenJsonLimits()
_BITS_OF_4_KIB = 12


@dataclass(frozen=True, slots=True)
class Asked:
    """What a request that waits for its answer was for, and which device it was sent to."""

    device_id: str = ""
    command_id: str = ""
    read_back: str = ""
    ending: int | None = None
    lease: bool = False
    sent_us: int = 0


NOTHING_ELSE = Asked()


class Line:
    """The connection. ``session`` speaks; ``flush`` sends what it said; ``listen`` takes in what comes.

    Every method raises ContactFailed when the contact fails, ``listen`` ProtocolError too.
    """

    def __init__(self, device_id: str, clock: Clock, limits: OpenJsonLimits) -> None:
        self.session = Session(Role.CONSOLE)
        self._device_id = device_id
        self._clock = clock
        self._limits = limits
        self._transport: Transport | None = None
        self._sending = asyncio.Lock()
        self._asked: dict[int, Asked] = {}
        self._device_time = DeviceTime()
        self._flood = Flood(limits.messages_per_second, clock.monotonic_us())
        self._changes = Flood(limits.changes_per_minute, clock.monotonic_us(), seconds=60)

    def share_among(self, devices: int) -> None:
        """Let so many devices speak over this connection, each as much as one may by itself."""
        now_us = self._clock.monotonic_us()
        self._flood = Flood(self._limits.messages_per_second * devices, now_us)
        self._changes = Flood(self._limits.changes_per_minute * devices, now_us, seconds=60)

    def now(self) -> Moment:
        """The present moment."""
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    def failed(self, reason: str) -> ContactFailed:
        """The error that ends the contact."""
        return ContactFailed(self._device_id, reason)

    async def open(self, open_transport: Connect, url: str) -> None:
        """Connect."""
        try:
            self._transport = await open_transport(url)
        except OSError as error:
            raise self.failed(f"could not connect: {error}") from error

    async def close(self) -> None:
        """Drop the connection, sending nothing more."""
        self.session.close()
        if self._transport is not None:
            await self._transport.close()

    # ------------------------------------------------------------ speaking

    def ask(self, request: Callable[[], int], asked: Asked = NOTHING_ELSE) -> None:
        """Make a request of the session's and remember what it was for; ``flush`` sends it."""
        try:
            request_id = request()
        except (LimitReached, UnexpectedMessage) as error:
            raise self.failed(str(error)) from error
        self._asked[request_id] = replace(asked, sent_us=self._clock.monotonic_us())

    def asked_for(self, answer: Result | Refusal) -> Asked:
        """What an answer is the answer to; its round trip tells of the device's clock."""
        asked = self._asked.pop(answer.request_id)
        if isinstance(answer, Result):
            received_us = self._clock.monotonic_us()
            self._device_time.add(RoundTrip(asked.sent_us, answer.body.device_time_us, received_us))
        return asked

    def ending(self) -> set[int]:
        """The subscriptions that were asked to end."""
        return {asked.ending for asked in self._asked.values() if asked.ending is not None}

    async def flush(self) -> None:
        """Send what the session has to say, in order, whoever asks for it."""
        async with self._sending:
            if self._transport is None:
                raise self.failed("not in contact")
            try:
                async with asyncio.timeout(self._limits.send_s):
                    for message in self.session.outgoing():
                        await self._transport.send(message)
            except TimeoutError as error:
                await self._transport.close()
                raise self.failed(f"took nothing for {self._limits.send_s:g} s") from error
            except ConnectionError as error:
                raise self.failed(str(error)) from error

    # ------------------------------------------------------------ listening

    async def listen(self, hear: Callable[[Received], None], until: Callable[[], bool]) -> None:
        """Give ``hear`` what comes and send what follows from it, until ``until``, asked after each message."""
        transport = self._transport
        if transport is None:
            raise self.failed("not in contact")
        try:
            while not until():
                if self.session.has_outgoing:
                    await self.flush()
                data = await transport.receive()
                if self._asked:
                    self._refuse_overdue()
                if self._flood.full(1 + (len(data) >> _BITS_OF_4_KIB)):
                    self._refuse_flood()
                for item in self.session.receive(data):
                    hear(item)
        except (ConnectionError, LimitReached) as error:
            raise self.failed(str(error)) from error

    def age_us(self, device_us: int, at: Moment) -> int:
        """How old something measured at ``device_us`` is at the least."""
        return self._device_time.least_age_us(device_us, at.monotonic_us)

    def is_too_old(self, age_us: int) -> bool:
        """Whether something of that age was held up on its way for too long to be acted on."""
        return age_us > self._limits.too_old_us

    def count_change(self) -> None:
        """Bound the changes that nobody here asked for: each becomes an event, which nothing may drop.

        Raises MalformedMessage for more than there can be by hand.
        """
        if self._changes.full() and self._changes.exceeded(self._clock.monotonic_us()):
            raise MalformedMessage(f"more than {self._limits.changes_per_minute} changes in a minute")

    def _refuse_overdue(self) -> None:
        """End the contact over a request that isn't answered; a write has deadlines of its own, with its command."""
        since_us = self._clock.monotonic_us() - round(self._limits.answer_s * 1_000_000)
        if any(asked.sent_us < since_us and not asked.command_id for asked in self._asked.values()):
            raise self.failed(f"left a request without an answer for {self._limits.answer_s:g} s")

    def _refuse_flood(self) -> None:
        if self._flood.exceeded(self._clock.monotonic_us()):
            bound = self._limits.messages_per_second
            raise MalformedMessage(f"more than {bound} messages in a second, each 4 KiB counted as one")
