"""An event loop whose time is virtual: it never waits, so that an hour's watch takes as long as its work.

When nothing is ready to run, the loop's time jumps to its next timer. Sockets work where the other end lives in the
same process: before a jump they get a moment to deliver. While a thread of the loop's executor works, time stands
still; of a thread that was started otherwise the loop knows nothing. A loop that has neither work nor a timer could
only wait for the outside; that is an error here and names the tasks that hang.
"""

from __future__ import annotations

import asyncio
import selectors
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Coroutine
    from concurrent.futures import Executor
    from typing import Any

Result = TypeVar("Result")

# Loopback delivers at once but for a busy kernel; this is how long, in real seconds, a jump is put off for it.
SOCKET_PATIENCE_S = 0.001
# A thread that has not answered after this many real seconds hangs.
THREAD_PATIENCE_S = 30.0


class NothingWillHappen(RuntimeError):
    """Every task waits, and nothing is set that could wake one: on virtual time that would last for ever."""


class VirtualTimeLoop(asyncio.SelectorEventLoop):
    """A selector loop with a time of its own, which begins at zero and moves only when all that is ready has run."""

    def __init__(self) -> None:
        self._virtual_now = 0.0
        self._working_threads = 0
        self.complaints: list[str] = []
        super().__init__(_JumpingSelector(self))
        self.set_exception_handler(self._complain)

    @property
    def has_working_threads(self) -> bool:
        """Tell whether a thread of an executor is at work for this loop."""
        return self._working_threads > 0

    def time(self) -> float:
        """Return the virtual seconds since the loop was made."""
        return self._virtual_now

    def jump(self, seconds: float) -> None:
        """Move time forward; the loop's selector calls this in place of waiting."""
        self._virtual_now += seconds

    def run_in_executor(  # type: ignore[override]  # The stub's own signature is looser than what it returns.
        self, executor: Executor | None, func: Callable[..., Result], *args: Any
    ) -> asyncio.Future[Result]:
        """Run in a thread as usual, and hold time until the thread is done."""
        future = super().run_in_executor(executor, func, *args)
        self._working_threads += 1
        future.add_done_callback(self._thread_is_done)
        return future

    async def shutdown_default_executor(self, timeout: float | None = None) -> None:  # noqa: ASYNC109 - asyncio's own name.
        """Wait for the executor's threads, really, since they know nothing of our time."""
        del timeout
        self._working_threads += 1
        try:
            await super().shutdown_default_executor()
        finally:
            self._working_threads -= 1

    def _thread_is_done(self, future: asyncio.Future[Result]) -> None:
        del future
        self._working_threads -= 1

    def _complain(self, loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        del loop
        self.complaints.append(f"{context['message']}: {context.get('exception')!r}")


class _JumpingSelector(selectors.DefaultSelector):
    """Looks whether anything is ready and, where the loop would wait, moves its time instead."""

    def __init__(self, loop: VirtualTimeLoop) -> None:
        super().__init__()
        self._loop = loop

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        """Return what is ready; `timeout` is how far the loop wants to wait for its next timer, None without one."""
        ready = super().select(self._patience_s(timeout))
        if ready or timeout == 0:
            return ready
        if timeout is None or self._loop.has_working_threads:
            raise NothingWillHappen(self._hanging())
        self._loop.jump(timeout)
        return []

    def _patience_s(self, timeout: float | None) -> float:
        """Return the real seconds to wait before time may move."""
        if timeout == 0:
            return 0
        if self._loop.has_working_threads:
            return THREAD_PATIENCE_S
        own_wake_up_pipe = 1
        return SOCKET_PATIENCE_S if len(self.get_map()) > own_wake_up_pipe else 0

    def _hanging(self) -> str:
        names = sorted(task.get_name() for task in asyncio.all_tasks(self._loop))
        return f"No timer is set, no thread answers, and these tasks wait: {', '.join(names) or 'none'}"


def run_on_virtual_time(main: Coroutine[Any, Any, Result]) -> tuple[Result, list[str]]:
    """Run a coroutine to its end on virtual time; its result, and what the loop complained of meanwhile."""
    loops: list[VirtualTimeLoop] = []

    def make_loop() -> VirtualTimeLoop:
        loops.append(VirtualTimeLoop())
        return loops[-1]

    with asyncio.Runner(loop_factory=make_loop) as runner:
        result = runner.run(main)
    return result, loops[0].complaints
