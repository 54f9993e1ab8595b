"""What is quickly reckoned, but not so quickly that the live loop could wait for it: in a process, and awaited.

A process that has reckoned stands ready for the next, so that nobody who picks carrier after carrier waits for Python
to start.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

from fleet.errors import InvalidRequest, LimitReached
from fleet.job_messages import Broken, Done
from fleet.job_process import JobProcess

AT_ONCE_MAXIMUM = 2
WAITING_MAXIMUM = 16
WITHIN_S = 30.0


class Reckonings:
    """Reckons a few at once; some more wait for their turn, and beyond that one is refused."""

    def __init__(self) -> None:
        self._turns = asyncio.Semaphore(AT_ONCE_MAXIMUM)
        self._under_way = 0
        self._ready: list[JobProcess] = []
        self._closed = False

    async def reckon(self, work: str, arguments: Mapping[str, Any]) -> Mapping[str, Any]:
        """Do a work and return its result.

        Raises LimitReached when it takes more than thirty seconds or too many wait, InvalidRequest when it can't be
        done as asked, RuntimeError when the software made a mistake in it.
        """
        if self._under_way >= WAITING_MAXIMUM:
            raise LimitReached("reckonings at once", WAITING_MAXIMUM)
        self._under_way += 1
        try:
            async with asyncio.timeout(WITHIN_S), self._turns:
                outcome = await self._done(work, arguments)
        except TimeoutError as error:
            raise LimitReached(f"seconds to {work}", round(WITHIN_S)) from error
        finally:
            self._under_way -= 1
        if isinstance(outcome, Done):
            return outcome.result
        if outcome.ours:
            raise RuntimeError(f"{work}: {outcome.words}")
        raise InvalidRequest(outcome.words)

    async def close(self) -> None:
        """End the processes that stand ready, and keep none any more."""
        self._closed = True
        while self._ready:
            await _ended(self._ready.pop())

    async def _done(self, work: str, arguments: Mapping[str, Any]) -> Done | Broken:
        process = await self._taken()
        outcome: Done | Broken | None = None
        try:
            await process.ask(work, arguments)
            outcome = await process.outcome(lambda _: None)
            return outcome
        finally:
            if self._closed or not isinstance(outcome, Done):
                await _ended(process)  # One that was interrupted may still be at it; one that broke off is not trusted.
            else:
                self._ready.append(process)

    async def _taken(self) -> JobProcess:
        """A process that stands ready, or a fresh one where none does; those that have ended meanwhile are let go."""
        while self._ready:
            process = self._ready.pop()
            if process.is_there:
                return process
            await process.end()
        return await JobProcess.start()


async def _ended(process: JobProcess) -> None:
    process.kill()
    await process.end()
