"""Tests on virtual time: nothing may be left running, and no error may go unheard."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, TypeVar

from api.compose.virtual_loop import NothingWillHappen, VirtualTimeLoop, run_on_virtual_time

if TYPE_CHECKING:
    from collections.abc import Coroutine
    from typing import Any

__all__ = ["NothingWillHappen", "VirtualTimeLoop", "run_virtual"]
Result = TypeVar("Result")


def run_virtual(main: Coroutine[Any, Any, Result]) -> Result:
    """Run a coroutine to its end on virtual time and return its result.

    Raises AssertionError if it leaves a task running, or if the loop was told of an error that nobody awaited.
    """
    result, complaints = run_on_virtual_time(_and_leave_nothing(main))
    if complaints:
        raise AssertionError(f"Errors that nobody awaited: {'; '.join(complaints)}")
    return result


async def _and_leave_nothing(main: Coroutine[Any, Any, Result]) -> Result:
    result = await main
    left = sorted(task.get_name() for task in asyncio.all_tasks() - {asyncio.current_task()} if not task.done())
    if left:
        raise AssertionError(f"The test ended with tasks still running: {', '.join(left)}")
    return result
