"""Everything on disk that a console stands on, opened together and given up together."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from contextlib import AsyncExitStack
from dataclasses import dataclass

from fleet.journal.documents import Documents
from fleet.journal.reader import Reader
from fleet.journal.writer import JournalWriter
from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.event import Recorded
from fleet.model.moment import Moment
from fleet.shelf import shipped_documents
from fleet.state.commands import REMEMBERED_US

MISSED_PAGE = 500


@dataclass(frozen=True, slots=True)
class Stores:
    """The journal's two ends and the documents; ``sequence`` is that of the last event before this epoch."""

    writer: JournalWriter
    reader: Reader
    documents: Documents
    epoch: int
    sequence: int

    async def missed(self, since: int, until: int) -> Sequence[Recorded]:
        """Some events after ``since``, oldest first, at most 500."""
        limit = min(MISSED_PAGE, until - since)
        return await asyncio.to_thread(self.reader.events, since, limit)

    async def remembered(self, now: Moment) -> tuple[tuple[Command, ...], tuple[Alarm, ...]]:
        """The commands that are open or recent enough for their ids to count, and the alarms that aren't normal."""
        return await asyncio.to_thread(_remembered, self.reader, now)


async def open_stores(url: str, make_writer: Callable[[str], JournalWriter], stack: AsyncExitStack) -> Stores:
    """Open the database; the stack gives it up.

    Raises JournalUnavailable when it can't be used.
    """
    writer = make_writer(url)
    stack.push_async_callback(writer.close)
    await writer.open()
    epoch = await writer.next_epoch()
    reader = Reader(url)
    stack.callback(reader.close)
    documents = Documents(url, writer, shipped_documents())
    stack.callback(documents.close)
    return Stores(writer, reader, documents, epoch, await asyncio.to_thread(reader.last_sequence))


def _remembered(reader: Reader, now: Moment) -> tuple[tuple[Command, ...], tuple[Alarm, ...]]:
    recent = reader.commands_since(now.utc_us - REMEMBERED_US)
    known = {command.command_id: command for command in (*reader.open_commands(), *recent)}
    return tuple(sorted(known.values(), key=lambda command: command.requested_utc_us)), reader.alarms()
