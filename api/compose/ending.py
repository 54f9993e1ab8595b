"""How a program ends: by Ctrl-C, by a polite request, or with the one that started it."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from collections.abc import Callable, Coroutine
from typing import Any, TypeVar

from api.compose.children import Child

Result = TypeVar("Result")
_READ_AT_ONCE = 4_096


class AskedToEnd(Exception):
    """Somebody asked for the end before the work was done."""


def asked_to_end() -> asyncio.Event:
    """An event that SIGINT and SIGTERM set from now on, in place of ending the process at once."""
    asked = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, asked.set)
    return asked


def end_with_the_starter() -> None:
    """End this process politely when its standard input ends: whoever started it is gone, however that came about."""
    loop = asyncio.get_running_loop()
    source = sys.stdin.fileno()

    def look() -> None:
        if os.read(source, _READ_AT_ONCE):
            return
        loop.remove_reader(source)
        signal.raise_signal(signal.SIGTERM)

    loop.add_reader(source, look)


async def unless_asked_to_end(work: Coroutine[Any, Any, Result]) -> Result:
    """Do the work; when somebody asks for the end first, cancel it, wait until it has put all away.

    Raises AskedToEnd then, and whatever the work raises otherwise.
    """
    asked = asyncio.create_task(asked_to_end().wait(), name="waiting to be asked to end")
    task = asyncio.create_task(work, name="the work")
    try:
        await asyncio.wait((asked, task), return_when=asyncio.FIRST_COMPLETED)
        if task.done():
            return task.result()
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task
        raise AskedToEnd
    finally:
        asked.cancel()
        task.cancel()
        await asyncio.gather(asked, task, return_exceptions=True)


async def while_it_runs(child: Child, heed: Callable[[str], None]) -> None:
    """Hand on what a child says until it ends.

    Raises ChildFailed then: it was not to end by itself.
    """

    async def take(line: str) -> None:
        heed(line)

    await child.relay(take)
