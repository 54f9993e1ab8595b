"""Processes that a command starts, listens to and ends."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from collections.abc import Awaitable, Callable, Sequence

from fleet.errors import RedpollError

LINE_LENGTH_MAXIMUM = 65_536
LINES_KEPT = 40
STOP_WITHIN_SECONDS = 10.0


class ChildFailed(RedpollError):
    """A process that was started ended by itself, or would not start."""

    def __init__(self, name: str, exit_code: int, last_words: str) -> None:
        self.name = name
        self.exit_code = exit_code
        said = f": {last_words}" if last_words else ""
        super().__init__(f"the {name} ended with exit code {exit_code}{said}")


class ChildLate(RedpollError):
    """A process that was started did not say in time what it must."""

    def __init__(self, name: str, seconds: float) -> None:
        self.name = name
        super().__init__(f"the {name} did not start within {seconds:g} s; is the machine very busy?")


class Child:
    """One process of our own programs, its lines read as they come."""

    def __init__(self, name: str, process: asyncio.subprocess.Process) -> None:
        self.name = name
        self._process = process
        self._last_lines: list[str] = []
        self._errors = asyncio.create_task(self._keep_errors(), name=f"{name} errors")

    @property
    def process_id(self) -> int:
        """The process's number on this machine."""
        return self._process.pid

    async def line_that(self, accept: Callable[[str], bool], seconds: float) -> str:
        """The first line that ``accept`` takes.

        Raises ChildFailed when the process ends first, ChildLate when nothing comes in time.
        """
        try:
            async with asyncio.timeout(seconds):
                while True:
                    line = await self._line()
                    if accept(line):
                        return line
        except TimeoutError as error:
            raise ChildLate(self.name, seconds) from error

    async def relay(self, take: Callable[[str], Awaitable[None]]) -> None:
        """Hand on every line until the process ends, then raise ChildFailed."""
        while True:
            await take(await self._line())

    async def _line(self) -> str:
        if self._process.stdout is None:  # pragma: no cover - start() always opens it.
            raise RuntimeError("the process was started without an output")
        data = await self._process.stdout.readline()
        if data:
            return data.decode(errors="replace").rstrip()
        exit_code = await self._process.wait()
        await self._errors
        raise ChildFailed(self.name, exit_code, " ".join(self._last_lines[-3:]))

    async def _keep_errors(self) -> None:
        if self._process.stderr is None:  # pragma: no cover - start() always opens it.
            return
        while data := await self._process.stderr.readline():
            self._last_lines.append(data.decode(errors="replace").rstrip())
            del self._last_lines[:-LINES_KEPT]

    async def kill(self) -> None:
        """End it without warning, as a power cut would, and wait until it is gone."""
        with contextlib.suppress(ProcessLookupError):
            self._process.kill()
        await self._process.wait()
        await self._errors

    async def stop(self) -> None:
        """Ask it to end; kill it if it hasn't within ten seconds."""
        with contextlib.suppress(ProcessLookupError):
            self._process.send_signal(signal.SIGTERM)
        try:
            async with asyncio.timeout(STOP_WITHIN_SECONDS):
                await self._drain()
        except TimeoutError:
            await self.kill()

    async def _drain(self) -> None:
        if self._process.stdout is not None:
            while await self._process.stdout.readline():
                pass
        await self._process.wait()
        await self._errors


async def start(name: str, module: str, arguments: Sequence[str]) -> Child:
    """Start one of our modules with this Python, in a process group of its own so that Ctrl-C reaches us alone.

    Its standard input is a pipe from us and says nothing; the program is told to end when that ends.
    """
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        module,
        *arguments,
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        limit=LINE_LENGTH_MAXIMUM,
        start_new_session=True,
    )
    return Child(name, process)
