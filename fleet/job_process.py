"""A job's process as its console holds it: started, listened to, asked to stop, ended."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import os
import signal
import sys
from collections.abc import Callable, Mapping
from typing import Any

from fleet.job_messages import LINE_BYTES_MAXIMUM, STOP, Asked, Broken, Done, Told, answer_of, line_of

MODULE = "fleet.job_child"
SAY_WITHIN_S = 5.0
END_WITHIN_S = 5.0
ERROR_BYTES = 4_096
# One job takes one core: the others are for what watches.
_ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

_log = logging.getLogger("redpoll.jobs")


class JobProcess:
    """One process; made by ``start``, and to be ended by ``end``, whatever happened."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self._process = process
        self._last_words = ""
        self._errors = asyncio.create_task(self._keep_errors(), name=f"errors of process {process.pid}")

    @classmethod
    async def start(cls) -> JobProcess:
        """Start one with this Python, in a group of its own so that Ctrl-C reaches the console alone.

        It waits to be asked. Raises OSError where the machine lets no more processes start.
        """
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            MODULE,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
            limit=LINE_BYTES_MAXIMUM,
            start_new_session=True,
            env={**os.environ, **_ONE_THREAD},
        )
        return cls(process)

    @property
    def process_id(self) -> int:
        """The process's number on this machine."""
        return self._process.pid

    @property
    def is_there(self) -> bool:
        """Whether it hasn't ended yet, as far as is known."""
        return self._process.returncode is None

    async def ask(self, work: str, arguments: Mapping[str, Any]) -> None:
        """Say what it shall do: one work by its name, and the next once that is done."""
        await self._say(line_of(Asked(work, dict(arguments))))

    async def outcome(self, told: Callable[[Told], None]) -> Done | Broken:
        """Hand on what it tells, and return how it came to its end; its death is an end as well."""
        output = self._process.stdout
        if output is None:  # pragma: no cover - start() always opens it.
            raise RuntimeError("the process was started without an output")
        while True:
            try:
                line = await output.readline()
                if not line.endswith(b"\n"):
                    return await self._death()
                answer = answer_of(line)
            except ValueError as error:
                return Broken(f"the process of the job said what is no answer: {error}", ours=True)
            if not isinstance(answer, Told):
                return answer
            told(answer)

    async def ask_to_stop(self) -> None:
        """Ask it to come to its end with the best it has."""
        await self._say(STOP + b"\n")

    async def end(self) -> None:
        """Make sure that it is gone: it may end by itself for a moment when its work is done, and is killed then."""
        if self._process.stdin is not None:
            self._process.stdin.close()  # To it, that means that there is no console any more.
        try:
            async with asyncio.timeout(END_WITHIN_S):
                await self._process.wait()
        except TimeoutError:
            self.kill()
            await self._process.wait()
        await self._drain()
        await self._errors

    def kill(self) -> None:
        """End it at once."""
        with contextlib.suppress(ProcessLookupError):
            self._process.kill()

    async def _say(self, words: bytes) -> None:
        """Write to it; one that is gone or doesn't listen is found out by whoever waits for its outcome."""
        if self._process.stdin is None:  # pragma: no cover - start() always opens it.
            return
        with contextlib.suppress(BrokenPipeError, ConnectionResetError, TimeoutError):
            async with asyncio.timeout(SAY_WITHIN_S):
                self._process.stdin.write(words)
                await self._process.stdin.drain()

    async def _drain(self) -> None:
        """Read what is left of its output, so that the pipe is closed."""
        output = self._process.stdout
        while output is not None and await output.read(LINE_BYTES_MAXIMUM):
            pass

    async def _death(self) -> Broken:
        code = await self._process.wait()
        await self._errors
        if code < 0:
            return Broken(f"its process was ended by {_signal_name(-code)}")
        last = f": {self._last_words}" if self._last_words else ""
        return Broken(f"its process ended with exit code {code} and no answer{last}", ours=True)

    async def _keep_errors(self) -> None:
        """What it writes to its standard error goes to the console's log; the last lines tell of its death."""
        if self._process.stderr is None:  # pragma: no cover - start() always opens it.
            return
        while data := await self._process.stderr.read(ERROR_BYTES):
            line = data.decode(errors="replace").rstrip()
            _log.warning("process %d: %s", self.process_id, ascii(line))
            self._last_words = line.rpartition("\n")[2]


def _signal_name(number: int) -> str:
    try:
        return f"signal {number} ({signal.Signals(number).name})"
    except ValueError:
        return f"signal {number}"
