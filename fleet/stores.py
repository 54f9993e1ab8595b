"""Everything on disk that a console stands on, opened together and given up together."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from contextlib import AsyncExitStack
from dataclasses import dataclass, replace

from fleet.journal.documents import Documents
from fleet.journal.people import People
from fleet.journal.reader import Reader
from fleet.journal.writer import JournalWriter
from fleet.model.address import parse_address
from fleet.model.event import ContactChanged, Recorded, ShowMoved
from fleet.model.inputs import Restored
from fleet.model.moment import Moment
from fleet.model.zone import ZoneWriterChanged
from fleet.shelf import shipped_documents
from fleet.state.commands import REMEMBERED_US
from fleet.state.show_clock import TRIGGERS_MAXIMUM

MISSED_PAGE = 500
ZONE_CHANGES_REMEMBERED = 1_000
MOVES_REMEMBERED = TRIGGERS_MAXIMUM
"""The last move says where the show is; those before it, which triggers came already."""


@dataclass(frozen=True, slots=True)
class Stores:
    """The journal's two ends, documents and people; ``sequence`` is that of the last event before this epoch."""

    writer: JournalWriter
    reader: Reader
    documents: Documents
    people: People
    epoch: int
    sequence: int

    async def missed(self, since: int, until: int) -> Sequence[Recorded]:
        """Some events after ``since``, oldest first, at most 500."""
        limit = min(MISSED_PAGE, until - since)
        return await asyncio.to_thread(self.reader.events, since, limit)

    async def remembered(self, now: Moment, device_ids: frozenset[str]) -> Restored:
        """What the journal remembers of before this start; ``device_ids`` are the devices that are watched.

        Commands are remembered while they are open or so recent that their ids count, alarms while they aren't normal,
        of the show clock its last moves, and the last thousand changes of who writes in a zone.
        """
        restored = await asyncio.to_thread(_remembered, self.reader, now, device_ids)
        return await asyncio.to_thread(_with_gateways, self.reader, restored)


def _with_gateways(reader: Reader, restored: Restored) -> Restored:
    """What is remembered, and of each device with an alarm that has no address, the gateway that last presented it."""
    watched = restored.device_ids or frozenset()
    alarmed = {parse_address(alarm.address).device_id for alarm in restored.alarms} - watched - {""}
    behind = {device_id: _gateway_before(reader, device_id) for device_id in alarmed}
    return replace(restored, behind={device_id: gateway for device_id, gateway in behind.items() if gateway})


def _gateway_before(reader: Reader, device_id: str) -> str:
    for entry in reader.newest(limit=1, kind=ContactChanged.kind, address=device_id):
        if isinstance(entry.event, ContactChanged):
            return entry.event.contact.reached_through
    return ""


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
    people = People(url, writer)
    stack.callback(people.close)
    return Stores(writer, reader, documents, people, epoch, await asyncio.to_thread(reader.last_sequence))


def _remembered(reader: Reader, now: Moment, device_ids: frozenset[str]) -> Restored:
    recent = reader.commands_since(now.utc_us - REMEMBERED_US)
    known = {command.command_id: command for command in (*reader.open_commands(), *recent)}
    commands = tuple(sorted(known.values(), key=lambda command: command.requested_utc_us))
    moves = reversed(reader.newest(limit=MOVES_REMEMBERED, kind=ShowMoved.kind))
    shown = tuple(entry.event for entry in moves if isinstance(entry.event, ShowMoved))
    return Restored(now, commands, reader.alarms(), device_ids, shown, _zone_changes(reader))


def _zone_changes(reader: Reader) -> tuple[ZoneWriterChanged, ...]:
    found = reversed(reader.newest(limit=ZONE_CHANGES_REMEMBERED, kind=ZoneWriterChanged.kind))
    return tuple(entry.event for entry in found if isinstance(entry.event, ZoneWriterChanged))
