"""Edits of what people keep: one at a time, and after one that failed what stands is read before the next.

A disk that answers too late may still have kept an edit that was called failed. Whoever built the next edit on what
the console had in mind would then lose that one, or be refused until the console starts again.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

_OURS = re.compile(r"[A-Za-z0-9_.\[\] -]{1,200}")


class Edits:
    """The turn to edit; ``read_again`` puts what stands on the disk in force, where that is something else."""

    def __init__(self, read_again: Callable[[], Awaitable[None]]) -> None:
        self._read_again = read_again
        self._turn = asyncio.Lock()
        self._in_doubt = False

    @asynccontextmanager
    async def one(self) -> AsyncIterator[None]:
        """Wait for the turn, and hold it for one edit. Raises JournalUnavailable where what stands can't be read."""
        async with self._turn:
            if self._in_doubt:
                await self._read_again()
            self._in_doubt = True  # Also when the edit is cancelled: its commit may be on its way.
            yield
            self._in_doubt = False


def shown_key(key: str) -> str:
    """A document's key as an answer may repeat it: names of ours and ids, never a text of the caller's."""
    return key if _OURS.fullmatch(key) else "a member"
