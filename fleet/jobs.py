"""Long work in processes of its own, beside the live loop: progress, the best so far, stopped with the best kept.

A few jobs run at once, a few more wait for their turn, and beyond that a job is refused. What is quickly reckoned, but
not so quickly that the live loop could wait for it, goes to such a process as well and is awaited: ``reckon``.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections import deque
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.errors import InvalidRequest, LimitReached, NotFound, RedpollError
from fleet.job_messages import Broken, Done, Told
from fleet.job_process import JobProcess
from fleet.job_reckonings import Reckonings
from fleet.model.job import BestSoFar, Job, JobState

AT_ONCE_MAXIMUM = 2
WAITING_MAXIMUM = 8
ENDED_KEPT = 32
LATE_S = 10.0
"""A process may take so much longer than its work, to start and to come to its end, before it is asked to stop."""
STOP_WITHIN_S = 5.0
KEEP_WITHIN_S = 30.0
_JOB_ID_BYTES = 8

_log = logging.getLogger("redpoll.jobs")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a job shall do: its work by name with its arguments, for which document, for whom, for how long.

    No two jobs with one ``subject`` are under way at the same time.
    """

    work: str
    arguments: Mapping[str, Any]
    subject: str
    person: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a job's result: the revision that the document got, and words where they say more than it."""

    revision: int | None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Ended:
    """What a job has to show: its best, how long it took, the work's own result, empty where it was cut short."""

    best: BestSoFar
    seconds: float
    result: Mapping[str, Any]


Keep = Callable[[Ended], Awaitable[Kept]]


@dataclass(slots=True, eq=False)
class _Entry:
    job: Job
    asked: Asked
    keep: Keep
    began_us: int | None = None
    stop: asyncio.Event = field(default_factory=asyncio.Event)
    over: asyncio.Event = field(default_factory=asyncio.Event)
    task: asyncio.Task[None] | None = None


class Jobs:
    """All jobs of a console, the newest last; those that ended long ago are forgotten."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._changed: Callable[[Job], None] = lambda _: None
        self._entries: dict[str, _Entry] = {}
        self._waiting: deque[_Entry] = deque()
        self._running: set[_Entry] = set()
        self._reckonings = Reckonings()
        self._closed = False

    # ------------------------------------------------------------ what people ask

    def start(self, asked: Asked, keep: Keep) -> Job:
        """Begin a job, or have it wait for its turn.

        Raises LimitReached when too many wait, InvalidRequest when one with that subject is under way.
        """
        under_way = [entry for entry in self._entries.values() if not entry.job.is_over]
        if self._closed:
            raise InvalidRequest("the console is stopping")
        if any(entry.job.subject == asked.subject for entry in under_way):
            raise InvalidRequest("a job for this is under way; wait for its end, or stop it")
        if len(self._waiting) >= WAITING_MAXIMUM:
            raise LimitReached("jobs that wait", WAITING_MAXIMUM)
        job_id = secrets.token_hex(_JOB_ID_BYTES)
        job = Job(job_id, asked.work, asked.subject, asked.person, JobState.WAITING, 0.0, "waits for its turn", 0.0)
        entry = _Entry(job, asked, keep)
        self._entries[job_id] = entry
        self._waiting.append(entry)
        self._begin_next()
        return self._shown(entry)

    def tell(self, changed: Callable[[Job], None]) -> None:
        """Have somebody told of every job of which something changes, in place of whoever was before."""
        self._changed = changed

    def all(self) -> tuple[Job, ...]:
        """Every job that is known, the newest first."""
        return tuple(self._shown(entry) for entry in reversed(self._entries.values()))

    def job(self, job_id: str) -> Job:
        """One job as it stands. Raises NotFound."""
        return self._shown(self._entry(job_id))

    async def stop(self, job_id: str) -> Job:
        """End a job with the best it has, and return what became of it; one that is over stays as it is.

        Raises NotFound.
        """
        entry = self._entry(job_id)
        self._stop(entry)
        await self._ended(entry)
        return self._shown(entry)

    async def ended(self, job_id: str) -> Job:
        """Wait for a job's end. Raises NotFound."""
        entry = self._entry(job_id)
        await entry.over.wait()
        return self._shown(entry)

    async def reckon(self, work: str, arguments: Mapping[str, Any]) -> Mapping[str, Any]:
        """Do what doesn't take long and return its result. Raises LimitReached and InvalidRequest."""
        return await self._reckonings.reckon(work, arguments)

    async def close(self) -> None:
        """End every job with the best it has, and begin none any more."""
        self._closed = True
        open_entries = [entry for entry in self._entries.values() if not entry.job.is_over]
        for entry in open_entries:
            self._stop(entry)
        for entry in open_entries:
            await self._ended(entry)
        await self._reckonings.close()

    # ------------------------------------------------------------ turns

    def _entry(self, job_id: str) -> _Entry:
        entry = self._entries.get(job_id)
        if entry is None:
            raise NotFound("job", job_id)
        return entry

    def _shown(self, entry: _Entry) -> Job:
        """The job with the seconds it has run by now."""
        if entry.began_us is None or entry.job.is_over:
            return entry.job
        return replace(entry.job, seconds=self._seconds(entry))

    def _seconds(self, entry: _Entry) -> float:
        if entry.began_us is None:
            return 0.0
        return round((self._clock.monotonic_us() - entry.began_us) / MICROSECONDS_PER_SECOND, 3)

    def _begin_next(self) -> None:
        while self._waiting and len(self._running) < AT_ONCE_MAXIMUM:
            entry = self._waiting.popleft()
            self._running.add(entry)
            entry.began_us = self._clock.monotonic_us()
            entry.job = replace(entry.job, state=JobState.RUNNING, words="begins")
            entry.task = asyncio.create_task(self._run(entry), name=f"job {entry.job.job_id}")
            self._changed(entry.job)

    def _stop(self, entry: _Entry) -> None:
        entry.stop.set()
        if entry in self._waiting:
            self._waiting.remove(entry)
            self._end(entry, JobState.STOPPED, Kept(None, "stopped before its turn"))

    async def _ended(self, entry: _Entry) -> None:
        """Wait until a job that was stopped is over; each part of that has a deadline of its own."""
        await entry.over.wait()
        if entry.task is not None:
            await asyncio.wait({entry.task})

    def _end(self, entry: _Entry, state: JobState, kept: Kept) -> None:
        words = kept.words or entry.job.words
        progress = 1.0 if state is JobState.DONE else entry.job.progress
        entry.job = replace(
            entry.job, state=state, progress=progress, words=words, seconds=self._seconds(entry), revision=kept.revision
        )
        entry.over.set()
        self._changed(entry.job)
        self._running.discard(entry)
        over = [one for one in self._entries.values() if one.job.is_over]
        for forgotten in over[: max(0, len(over) - ENDED_KEPT)]:
            del self._entries[forgotten.job.job_id]
        if not self._closed:
            self._begin_next()

    # ------------------------------------------------------------ one job

    async def _run(self, entry: _Entry) -> None:
        """A job from its beginning to its end; whatever goes wrong ends it alone."""
        try:
            outcome = await self._work(entry)
            state, words, result = _end_of(entry, outcome)
            kept = await self._keep(entry, result)
            self._end(entry, state, kept if state is not JobState.FAILED else Kept(kept.revision, words))
        except (RedpollError, TimeoutError) as error:
            reason = str(error) or f"the disk did not answer within {KEEP_WITHIN_S:g} s"
            self._end(entry, JobState.FAILED, Kept(None, f"what was found could not be kept: {reason}"))
        except OSError as error:
            self._end(entry, JobState.FAILED, Kept(None, f"its process could not be started: {error.strerror}"))
        except Exception:  # noqa: BLE001 - a defect of ours must end this job alone, and not stay silent.
            _log.exception("job %s failed", entry.job.job_id)
            self._end(entry, JobState.FAILED, Kept(None, "the console made a mistake; its log has the particulars"))

    async def _work(self, entry: _Entry) -> Done | Broken | None:
        """Have the work done; None where its process had to be killed, by which time its best has been told."""
        process = await JobProcess.start()

        def told(message: Told) -> None:
            best = message.best or entry.job.best
            progress = max(entry.job.progress, min(1.0, message.progress))
            entry.job = replace(entry.job, progress=progress, words=message.words, best=best)
            self._changed(self._shown(entry))

        outcome = asyncio.create_task(process.outcome(told), name=f"outcome of job {entry.job.job_id}")
        stopped = asyncio.create_task(entry.stop.wait(), name=f"stop of job {entry.job.job_id}")
        try:
            await process.ask(entry.asked.work, entry.asked.arguments)
            within_s = entry.asked.seconds + LATE_S
            await asyncio.wait({outcome, stopped}, timeout=within_s, return_when=asyncio.FIRST_COMPLETED)
            if not outcome.done():
                await process.ask_to_stop()
                await asyncio.wait({outcome}, timeout=STOP_WITHIN_S)
            return outcome.result() if outcome.done() else None
        finally:
            stopped.cancel()
            process.kill()
            await process.end()
            await asyncio.wait({outcome, stopped})

    async def _keep(self, entry: _Entry, result: Mapping[str, Any]) -> Kept:
        best = entry.job.best
        if best is None:
            return Kept(None)
        async with asyncio.timeout(KEEP_WITHIN_S):
            return await entry.keep(Ended(best, self._seconds(entry), result))


def _end_of(entry: _Entry, outcome: Done | Broken | None) -> tuple[JobState, str, Mapping[str, Any]]:
    """How a job ended, in words where it failed, and the work's own result."""
    ended = JobState.STOPPED if entry.stop.is_set() else JobState.DONE
    match outcome:
        case Done():
            entry.job = replace(entry.job, words=outcome.words, best=outcome.best or entry.job.best)
            return ended, "", outcome.result
        case Broken():
            return JobState.FAILED, outcome.words, {}
        case None if entry.job.best is None and ended is JobState.DONE:
            return JobState.FAILED, "its time was over before it had found anything", {}
        case None:
            return ended, "", {}
