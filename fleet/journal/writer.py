"""Writers of the journal: one with a thread of its own for a live console, one inline for runs on a virtual clock."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import queue
import threading
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Protocol, TypeVar, cast

import sqlalchemy as sa

from fleet.errors import LimitReached
from fleet.journal.entries import StateEvent, append, next_epoch
from fleet.journal.ledger import Ledger
from fleet.model.event import Recorded

QUEUED_MAXIMUM = 1_000
GROUP_MAXIMUM = 100
CLOSE_WITHIN_S = 5.0
_LOG = logging.getLogger(__name__)
Result = TypeVar("Result")
Work = Callable[[sa.Connection], Any]


class JournalWriter(Protocol):
    """What the runtime and the documents need of a writer."""

    async def open(self) -> None:
        """Claim the database and bring its schema up to date, or raise JournalUnavailable."""

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        """Return once the events and the states they carry are durable, or raise JournalUnavailable."""

    async def run(self, work: Callable[[sa.Connection], Result]) -> Result:
        """Do ``work`` in a transaction of its own and return its result once that is durable."""

    async def next_epoch(self) -> int:
        """Count one more start of the console."""

    async def close(self) -> None:
        """Finish what is queued and give the database up."""


class InlineWriter:
    """Commits within the call, without a thread: the same order in every run."""

    def __init__(self, url: str) -> None:
        self.ledger = Ledger(url)

    async def open(self) -> None:
        """Claim the database and bring its schema up to date, or raise JournalUnavailable."""
        self.ledger.open()

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        """Return once the events and the states they carry are durable, or raise JournalUnavailable."""
        self.ledger.transact(partial(append, recorded=recorded, states=states))

    async def run(self, work: Callable[[sa.Connection], Result]) -> Result:
        """Do ``work`` in a transaction of its own and return its result once that is durable."""
        return self.ledger.transact(work)

    async def next_epoch(self) -> int:
        """Count one more start of the console."""
        return self.ledger.transact(next_epoch)

    async def close(self) -> None:
        """Give the database up."""
        self.ledger.close()


@dataclass(slots=True)
class _Job:
    """One piece of work for the thread. Those that may be grouped share a transaction with their neighbours."""

    work: Work
    grouped: bool
    done: Future[Any] = field(default_factory=Future)


class Writer:
    """Owns the writing thread, which owns the writing connection.

    When idle a commit happens at once; what queued meanwhile shares the next one, at most 100 together. At most 1,000
    may queue: the next raises LimitReached.
    """

    def __init__(self, url: str) -> None:
        self.ledger = Ledger(url)
        self._jobs: queue.Queue[_Job | None] = queue.Queue(QUEUED_MAXIMUM)
        self._held: deque[_Job | None] = deque()
        self._thread: threading.Thread | None = None

    async def open(self) -> None:
        """Start the thread, claim the database and bring its schema up to date, or raise JournalUnavailable."""
        opened: Future[None] = Future()
        self._thread = threading.Thread(target=self._main, args=(opened,), name="journal writer", daemon=True)
        self._thread.start()
        await asyncio.wrap_future(opened)

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        """Return once the events and the states they carry are durable, or raise JournalUnavailable."""
        await self._submit(_Job(partial(append, recorded=tuple(recorded), states=tuple(states)), grouped=True))

    async def run(self, work: Callable[[sa.Connection], Result]) -> Result:
        """Do ``work`` in a transaction of its own and return its result once that is durable."""
        return cast("Result", await self._submit(_Job(work, grouped=False)))

    async def next_epoch(self) -> int:
        """Count one more start of the console."""
        return await self.run(next_epoch)

    async def close(self) -> None:
        """Finish what is queued, end the thread and give the database up.

        A disk that doesn't answer for five seconds is left to the end of the process.
        """
        thread, self._thread = self._thread, None
        if thread is not None:
            await asyncio.to_thread(self._end, thread)

    def _end(self, thread: threading.Thread) -> None:
        with contextlib.suppress(queue.Full):
            self._jobs.put(None, timeout=CLOSE_WITHIN_S)
        thread.join(CLOSE_WITHIN_S)
        if thread.is_alive():
            _LOG.error("The journal's writer did not end within %g s.", CLOSE_WITHIN_S)

    async def _submit(self, job: _Job) -> object:
        try:
            self._jobs.put_nowait(job)
        except queue.Full as error:
            raise LimitReached("work queued for the journal", QUEUED_MAXIMUM) from error
        return await asyncio.wrap_future(job.done)

    def _main(self, opened: Future[None]) -> None:
        """The thread: open, then serve until told to stop."""
        try:
            self.ledger.open()
        except Exception as error:  # noqa: BLE001  (whatever it is belongs to the one who awaits the opening)
            opened.set_exception(error)
            return
        opened.set_result(None)
        try:
            while self._serve():
                pass
        finally:
            self.ledger.close()

    def _serve(self) -> bool:
        """Do the next job with its neighbours; False when it was the order to stop."""
        job = self._held.popleft() if self._held else self._jobs.get()
        if job is None:
            return False
        _carry_out(self.ledger, self._grouped_with(job) if job.grouped else [job])
        return True

    def _grouped_with(self, first: _Job) -> list[_Job]:
        """The jobs that share the first one's transaction; what was taken beyond them is held for the next turn."""
        group = [first]
        while len(group) < GROUP_MAXIMUM:
            try:
                job = self._jobs.get_nowait()
            except queue.Empty:
                break
            if job is None or not job.grouped:
                self._held.append(job)
                break
            group.append(job)
        return group


def _carry_out(ledger: Ledger, group: Sequence[_Job]) -> None:
    """Do the jobs in one transaction and tell each how it went. A job whose asker gave up is not begun."""
    begun = [job for job in group if job.done.set_running_or_notify_cancel()]
    if not begun:
        return
    try:
        results = ledger.transact(lambda connection: [job.work(connection) for job in begun])
    except Exception as error:  # noqa: BLE001  (whatever it is belongs to those who await the jobs)
        for job in begun:
            job.done.set_exception(error)
        return
    for job, result in zip(begun, results, strict=True):
        job.done.set_result(result)
