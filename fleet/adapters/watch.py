"""The watch over one device's heartbeats, across all its connections: fresh, late, lost, bad."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, replace

from fleet.adapters.adapter import Sink
from fleet.clock import Clock
from fleet.errors import ContactFailed
from fleet.model.device import ContactState
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation


@dataclass(frozen=True, slots=True)
class WatchLimits:
    """Seconds without a fresh heartbeat after which a device is late, and lost; common practice for one a second.

    After a greeting, ``first_s`` more pass before it is late, for the first heartbeat proves nothing.
    """

    first_s: float = 1.0
    late_s: float = 2.0
    lost_s: float = 5.0


WATCH_LIMITS = WatchLimits()


class Watch:
    """Stands between an adapter and the sink, and says what becomes of the contact.

    A device whose heartbeats stopped while its connection stood must prove itself: until a heartbeat is fresh again,
    neither its greeting nor its readings count. Nor does it prove anything by describing itself anew.
    """

    def __init__(
        self, device_id: str, clock: Clock, sink: Sink, limits: WatchLimits, fail: Callable[[Exception], None]
    ) -> None:
        self.beats = 0
        self._fail = fail
        self._defect: Exception | None = None
        self._device_id = device_id
        self._clock = clock
        self._sink = sink
        self._limits = limits
        self._state = ContactState.CONNECTING
        self._reason = ""
        self._must_prove = False
        self._greeted = False
        self._last_us = 0
        self._last_end: Contact | None = None
        self._timers: list[asyncio.TimerHandle] = []
        self._deadline: asyncio.Timeout | None = None

    def start(self) -> None:
        """Begin to count: a device never heard becomes lost in time too."""
        self._say(Contact(self._now(), self._device_id, ContactState.CONNECTING))
        self._rearm()

    def stop(self) -> None:
        """Count no more."""
        for timer in self._timers:
            timer.cancel()
        self._timers.clear()

    def let_go(self, reason: str) -> None:
        """Count no more, over a device that is there no longer: it is lost."""
        self.stop()
        self._say(Contact(self._now(), self._device_id, ContactState.LOST, reason))

    def heard(self, item: Observation | Contact) -> None:
        """What the adapter says; the adapter's sink.

        What the sink raises ends the contact, whoever called: a timer of the adapter's has nobody to raise it to.
        """
        try:
            self._hear(item)
        except Exception as defect:
            if asyncio.current_task() is not None:
                raise
            self._defect = defect
            if self._deadline is not None:
                self._deadline.reschedule(asyncio.get_running_loop().time())

    def _hear(self, item: Observation | Contact) -> None:
        if isinstance(item, Observation):
            self._sink(replace(item, frame=None) if self._must_prove else item)
            return
        beat = item.description is None
        again = self._greeted and not beat
        if beat:
            self.beats += 1
            self._must_prove = False
        self._greeted = True
        if self._must_prove or again:
            self._sink(self._unproven(item))
            return
        self._state, self._reason = item.state, item.reason
        self._rearm(0.0 if beat else self._limits.first_s)
        self._sink(item)

    def _unproven(self, greeting: Contact) -> Contact:
        """A greeting that changes nothing about how the contact stands."""
        if self._must_prove or self._state not in (ContactState.FRESH, ContactState.LATE):
            return replace(greeting, state=ContactState.CONNECTING)
        return replace(greeting, state=self._state, reason=self._reason)

    async def until_lost(self, run: Coroutine[object, object, None]) -> None:
        """Await ``run`` for as long as heartbeats stay fresh.

        Raises what ``run`` raises, what the sink raised to a timer, and ContactFailed once the device is lost.
        """
        self.beats = 0
        loop = asyncio.get_running_loop()
        try:
            async with asyncio.timeout_at(loop.time() + self._limits.lost_s) as self._deadline:
                if self._defect is not None:
                    self._deadline.reschedule(loop.time())
                await run
        except TimeoutError as error:
            if self._defect is not None:
                raise self._defect from error
            self._must_prove = True
            raise ContactFailed(self._device_id, f"no fresh heartbeat for {self._limits.lost_s:g} s") from error
        finally:
            self._deadline = None

    def ended(self, reason: str, *, bad: bool, attempts: int, pause_s: float) -> None:
        """A contact, or an attempt at one, has ended; the next follows after ``pause_s``.

        One that never brought a heartbeat proves nothing, so the next must prove itself.
        """
        self._must_prove = self._must_prove or (self.beats == 0 and self._greeted)
        self.beats = 0
        self._greeted = False
        self._defect = None
        state = ContactState.BAD if bad else ContactState.LOST if self._overdue() else ContactState.CONNECTING
        at = self._now()
        next_utc_us = at.later(pause_s).utc_us
        self._last_end = Contact(at, self._device_id, state, reason, attempts=attempts, next_attempt_utc_us=next_utc_us)
        self._say(self._last_end)

    def _overdue(self) -> bool:
        return self._clock.monotonic_us() - self._last_us >= self._limits.lost_s * 1_000_000

    def _rearm(self, more_s: float = 0.0) -> None:
        """Something fresh was heard: all deadlines begin anew."""
        self._last_us = self._clock.monotonic_us()
        self._last_end = None
        self.stop()
        loop = asyncio.get_running_loop()
        self._timers.append(loop.call_later(self._limits.late_s + more_s, self._timed, self._late))
        self._timers.append(loop.call_later(self._limits.lost_s, self._timed, self._lost))
        if self._deadline is not None:
            self._deadline.reschedule(loop.time() + self._limits.lost_s)

    def _timed(self, turn: Callable[[], None]) -> None:
        """A timer's turn; what goes wrong in it is told, for nobody waits for a timer."""
        try:
            turn()
        except Exception as defect:  # noqa: BLE001 - whatever it is, the supervisor raises it.
            self._fail(defect)

    def _late(self) -> None:
        if self._state is ContactState.FRESH:
            reason = f"no fresh heartbeat for {self._limits.late_s:g} s"
            self._say(Contact(self._now(), self._device_id, ContactState.LATE, reason))

    def _lost(self) -> None:
        """Five seconds without: lost, for the reason that ended the last attempt where there was one since."""
        if self._state is ContactState.BAD:
            return
        self._must_prove = self._must_prove or (self._greeted and self._last_end is None)
        if self._last_end is not None:
            self._say(replace(self._last_end, at=self._now(), state=ContactState.LOST))
            return
        reason = f"no fresh heartbeat for {self._limits.lost_s:g} s"
        self._say(Contact(self._now(), self._device_id, ContactState.LOST, reason))

    def _now(self) -> Moment:
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    def _say(self, contact: Contact) -> None:
        self._state, self._reason = contact.state, contact.reason
        self._sink(contact)
