"""What is quickly reckoned, but not so quickly that the live loop could wait for it: in a process, and awaited.

After the first one a process stands ready for the next, so that nobody who picks carrier after carrier waits for Python
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
        self._ready: asyncio.Task[JobProcess] | None = None
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
        """End the process that stands ready, and keep none any more."""
        self._closed = True
        ready, self._ready = self._ready, None
        if ready is not None:
            await asyncio.wait({ready})
            if ready.exception() is None:
                await ready.result().end()

    async def _done(self, work: str, arguments: Mapping[str, Any]) -> Done | Broken:
        process = await self._taken()
        try:
            await process.ask(work, arguments)
            return await process.outcome(lambda _: None)
        finally:
            process.kill()
            await process.end()
            self._make_ready()

    async def _taken(self) -> JobProcess:
        """The process that stands ready, or a fresh one where none does or it has ended."""
        ready, self._ready = self._ready, None
        if ready is None:
            return await JobProcess.start()
        process = await ready
        if process.is_there:
            return process
        await process.end()
        return await JobProcess.start()

    def _make_ready(self) -> None:
        if self._ready is None and not self._closed:
            self._ready = asyncio.create_task(JobProcess.start(), name="process that stands ready")
