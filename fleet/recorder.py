"""Journal before publish: what the pipeline made is committed, then shown; and the watch goes on when the disk doesn't.

While the journal can't be written, events wait in memory, 10,000 at most; beyond that the oldest are given up and
counted. They are shown all the same, and commands among them are marked as unrecorded. Every second another attempt is
made; once it succeeds, what waited is written in order and the gap is marked by an event of its own.
"""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from fleet.clock import Clock
from fleet.errors import JournalUnavailable, LimitReached
from fleet.feed import Batch
from fleet.journal.entries import StateEvent
from fleet.journal.writer import JournalWriter
from fleet.model.command import CommandState
from fleet.model.event import CommandChanged, JournalGap, Recorded
from fleet.model.moment import Moment
from fleet.model.snapshot import JournalStatus

WAITING_MAXIMUM = 10_000
COMMIT_WITHIN_S = 1.0
"""How long a commit may take. Less than a device has to accept a command, which waits for its own commit."""
RETRY_EVERY_S = 1.0
AT_ONCE_MAXIMUM = 1_000
_LOG = logging.getLogger(__name__)
_UNSENT = (CommandState.REQUESTED, CommandState.SENT)


@dataclass(frozen=True, slots=True)
class Wiring:
    """What the recorder calls, all on the loop.

    ``publish`` shows a batch and hands on its commands. ``mark_unrecorded`` tells the pipeline of a command that the
    journal could not take before it was sent. ``open_states`` gives the standing alarms and commands as events, for
    when the events that led there were lost. ``record_gap`` has the gap recorded like any event.
    """

    publish: Callable[[Batch], None]
    mark_unrecorded: Callable[[str], None]
    open_states: Callable[[], Sequence[StateEvent]]
    record_gap: Callable[[JournalGap], None]


class Recorder:
    """Takes batches in the order of their capture; one task commits and publishes them in that order."""

    def __init__(self, writer: JournalWriter, clock: Clock, wiring: Wiring) -> None:
        self._writer = writer
        self._clock = clock
        self._wiring = wiring
        self._pending: deque[Batch] = deque()
        self._settled = 0
        self._waiters: deque[tuple[int, asyncio.Future[None]]] = deque()
        self._wake = asyncio.Event()
        self._waiting: deque[Recorded] = deque()
        self._failed_at: Moment | None = None
        self._reason = ""
        self._missed = 0
        self._lost = 0
        self._written_utc_us: int | None = None
        self._retry: asyncio.Task[None] | None = None
        self._running: asyncio.Task[None] | None = None
        self._closing = False
        self.commits = 0
        self.commit_failures = 0

    @property
    def status(self) -> JournalStatus:
        """Whether the journal is being written, when it last was, and what waits."""
        return JournalStatus(self._failed_at is None, self._written_utc_us, len(self._waiting), self._reason)

    @property
    def pending(self) -> int:
        """How many batches wait for their commit."""
        return len(self._pending)

    def add(self, batch: Batch) -> None:
        """Take a batch in; it is published once it is durable, or known not to be."""
        self._pending.append(batch)
        self._wake.set()

    async def settled(self, number: int) -> None:
        """Return once the batch of that number was published."""
        if self._settled >= number:
            return
        waiter: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._waiters.append((number, waiter))
        await waiter

    def start(self) -> asyncio.Task[None]:
        """Begin to commit and publish; the task ends by ``close`` alone, unless it fails."""
        self._running = asyncio.create_task(self._run(), name="committing and publishing")
        return self._running

    async def close(self) -> None:
        """Settle what is left, with one last attempt to write what waits; the writer stays open."""
        self._closing = True
        self._wake.set()
        if self._running is not None:
            await self._running
        await self._settle_pending()
        if self._retry is not None:
            self._retry.cancel()
            await asyncio.gather(self._retry, return_exceptions=True)
        if self._failed_at is None:
            return
        if await self._written_again():
            self._end_gap()
            await self._settle_pending()
        else:
            _LOG.error("%d events could not be written before the end: %s", len(self._waiting), self._reason)

    async def _run(self) -> None:
        while not self._closing:
            await self._wake.wait()
            self._wake.clear()
            await self._settle_pending()

    async def _settle_pending(self) -> None:
        while self._pending:
            batches = tuple(self._pending)
            self._pending.clear()
            for batch in await self._recorded(batches):
                self._settled = batch.number
                self._wiring.publish(batch)
            self._tell_waiters()

    def _tell_waiters(self) -> None:
        ready = [waiter for number, waiter in self._waiters if number <= self._settled]
        self._waiters = deque(entry for entry in self._waiters if entry[0] > self._settled)
        for waiter in ready:
            if not waiter.done():
                waiter.set_result(None)

    async def _recorded(self, batches: Sequence[Batch]) -> Sequence[Batch]:
        """The batches, committed; or marked and waiting in memory."""
        entries = tuple(entry for batch in batches for entry in batch.recorded)
        if not entries:
            return batches
        if self._failed_at is None and await self._commit(entries, ()):
            return batches
        self._note_failure()
        marked = tuple(self._marked(batch) for batch in batches)
        self._wait(entry for batch in marked for entry in batch.recorded)
        return marked

    async def _commit(self, entries: Sequence[Recorded], states: Sequence[StateEvent]) -> bool:
        """Whether the entries are durable now; the reason is kept when they aren't."""
        durable = await self._committed(entries, states)
        self.commits += durable
        self.commit_failures += not durable
        return durable

    async def _committed(self, entries: Sequence[Recorded], states: Sequence[StateEvent]) -> bool:
        try:
            async with asyncio.timeout(COMMIT_WITHIN_S):
                await self._writer.commit(entries, states)
        except TimeoutError:
            self._reason = f"the disk did not answer within {COMMIT_WITHIN_S:g} s"
            return False
        except (JournalUnavailable, LimitReached) as error:
            self._reason = str(error)
            return False
        self._written_utc_us = self._clock.utc_us()
        return True

    # ------------------------------------------------------------ while it fails

    def _note_failure(self) -> None:
        if self._failed_at is None:
            self._failed_at = Moment(self._clock.monotonic_us(), self._clock.utc_us())
            self._retry = asyncio.create_task(self._retry_until_written(), name="writing the journal again")
            _LOG.error("The journal can't be written (%s); the watch goes on, events wait in memory.", self._reason)

    def _marked(self, batch: Batch) -> Batch:
        return replace(batch, recorded=tuple(self._with_mark(entry) for entry in batch.recorded))

    def _with_mark(self, entry: Recorded) -> Recorded:
        event = entry.event
        if not isinstance(event, CommandChanged) or event.command.state not in _UNSENT:
            return entry
        self._wiring.mark_unrecorded(event.command.command_id)
        return replace(entry, event=replace(event, command=replace(event.command, unrecorded=True)))

    def _wait(self, entries: Iterable[Recorded]) -> None:
        for entry in entries:
            self._waiting.append(entry)
            self._missed += 1
        while len(self._waiting) > WAITING_MAXIMUM:
            self._waiting.popleft()
            self._lost += 1

    async def _retry_until_written(self) -> None:
        await self._clock.sleep(RETRY_EVERY_S)
        while not await self._written_again():
            await self._clock.sleep(RETRY_EVERY_S)
        self._end_gap()

    async def _written_again(self) -> bool:
        """Try to write all that waits, also what comes to wait meanwhile; whether nothing waits any more."""
        while self._waiting:
            entries = tuple(islice(self._waiting, AT_ONCE_MAXIMUM))
            states = self._wiring.open_states() if self._lost else ()
            if not await self._commit(entries, states):
                return False
            while self._waiting and self._waiting[0].sequence <= entries[-1].sequence:
                self._waiting.popleft()
        return True

    def _end_gap(self) -> None:
        began, self._failed_at = self._failed_at, None
        missed, self._missed = self._missed, 0
        lost, self._lost = self._lost, 0
        self._reason = ""
        at = Moment(self._clock.monotonic_us(), self._clock.utc_us())
        began_utc_us = at.utc_us if began is None else began.utc_us
        _LOG.warning("The journal is written again; %d events had to wait, %d were lost.", missed, lost)
        self._wiring.record_gap(JournalGap(at, began_utc_us, at.utc_us, missed, lost))
