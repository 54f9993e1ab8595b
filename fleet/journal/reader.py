"""Reading the journal over connections of its own, which can't write. Safe to use from several threads."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import sqlalchemy as sa

from fleet.errors import JournalUnavailable, NotFound
from fleet.journal.engine import reading_engine, reason_of
from fleet.journal.entries import last_sequence
from fleet.journal.tables import ALARMS, COMMANDS, EVENTS
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.command import TERMINAL, Command
from fleet.model.event import AlarmChanged, CommandChanged, Event, Recorded
from fleet.model.event_json import decode_event

PAGE_MAXIMUM = 1_000
COMMANDS_SINCE_MAXIMUM = 10_000
Result = TypeVar("Result")


class Reader:
    """Everything that may be asked of the journal. Each call waits for the disk; raises JournalUnavailable."""

    def __init__(self, url: str) -> None:
        self._engine = reading_engine(url)

    def events(
        self, since: int = 0, limit: int = 100, *, kind: str | None = None, address: str | None = None
    ) -> tuple[Recorded, ...]:
        """Events after the sequence number ``since``, oldest first; at most 1,000 at a time.

        ``address`` keeps those about that thing and what hangs on it. The last one's sequence is the next ``since``.
        """
        query = _filtered(kind, address).where(EVENTS.c.sequence > since).order_by(EVENTS.c.sequence)
        return self._read(lambda connection: _recorded(connection, query.limit(_page(limit))))

    def newest(
        self, before: int | None = None, limit: int = 100, *, kind: str | None = None, address: str | None = None
    ) -> tuple[Recorded, ...]:
        """Events before the sequence number ``before``, newest first; at most 1,000 at a time."""
        query = _filtered(kind, address).order_by(EVENTS.c.sequence.desc())
        if before is not None:
            query = query.where(EVENTS.c.sequence < before)
        return self._read(lambda connection: _recorded(connection, query.limit(_page(limit))))

    def last_sequence(self) -> int:
        """The sequence number of the last event, 0 when there is none."""
        return self._read(last_sequence)

    def open_commands(self) -> tuple[Command, ...]:
        """Commands to which something can still happen, oldest first."""
        ended = [state.value for state in TERMINAL]
        query = _commands_in_order().where(COMMANDS.c.state.not_in(ended))
        return self._read(lambda connection: _commands(connection, query))

    def alarms(self) -> tuple[Alarm, ...]:
        """Alarms that aren't normal, by id."""
        query = sa.select(ALARMS.c.body).where(ALARMS.c.state != AlarmState.NORMAL.value).order_by(ALARMS.c.alarm_id)
        return self._read(lambda connection: _alarms(connection, query))

    def command(self, command_id: str) -> Command:
        """One command as it last was. Raises NotFound."""
        query = sa.select(COMMANDS.c.body).where(COMMANDS.c.command_id == command_id)
        found = self._read(lambda connection: _commands(connection, query))
        if not found:
            raise NotFound("command", command_id)
        return found[0]

    def commands(self, before: Command | None = None, limit: int = 100) -> tuple[Command, ...]:
        """Commands requested before ``before``, newest first; at most 1,000 at a time."""
        query = sa.select(COMMANDS.c.body)
        if before is not None:
            order = sa.tuple_(COMMANDS.c.requested_utc_us, COMMANDS.c.command_id)
            query = query.where(order < sa.tuple_(before.requested_utc_us, before.command_id))
        query = query.order_by(COMMANDS.c.requested_utc_us.desc(), COMMANDS.c.command_id.desc())
        return self._read(lambda connection: _commands(connection, query.limit(_page(limit))))

    def commands_since(self, utc_us: int) -> tuple[Command, ...]:
        """Commands requested at or after that moment, oldest first; the last 10,000 at most."""
        query = sa.select(COMMANDS.c.body).where(COMMANDS.c.requested_utc_us >= utc_us)
        query = query.order_by(COMMANDS.c.requested_utc_us.desc(), COMMANDS.c.command_id.desc())
        return self._read(lambda connection: _commands(connection, query.limit(COMMANDS_SINCE_MAXIMUM)))[::-1]

    def close(self) -> None:
        """Give the connections up."""
        self._engine.dispose()

    def _read(self, query: Callable[[sa.Connection], Result]) -> Result:
        try:
            with self._engine.connect() as connection:
                return query(connection)
        except sa.exc.SQLAlchemyError as error:
            raise JournalUnavailable(reason_of(error)) from error
        except ValueError as error:
            raise JournalUnavailable(f"an entry can't be read: {error}") from error


def _page(limit: int) -> int:
    return max(1, min(limit, PAGE_MAXIMUM))


def _filtered(kind: str | None, address: str | None) -> sa.Select[Any]:
    query = sa.select(EVENTS.c.sequence, EVENTS.c.body)
    if kind is not None:
        query = query.where(EVENTS.c.kind == kind)
    if address is not None:
        below = EVENTS.c.address.startswith(f"{address}/", autoescape=True)
        query = query.where(sa.or_(EVENTS.c.address == address, below))
    return query


def _recorded(connection: sa.Connection, query: sa.Select[Any]) -> tuple[Recorded, ...]:
    return tuple(Recorded(sequence, decode_event(body)) for sequence, body in connection.execute(query))


def _commands_in_order() -> sa.Select[Any]:
    return sa.select(COMMANDS.c.body).order_by(COMMANDS.c.requested_utc_us, COMMANDS.c.command_id)


def _commands(connection: sa.Connection, query: sa.Select[Any]) -> tuple[Command, ...]:
    events: list[Event] = [decode_event(body) for body in connection.scalars(query)]
    return tuple(event.command for event in events if isinstance(event, CommandChanged))


def _alarms(connection: sa.Connection, query: sa.Select[Any]) -> tuple[Alarm, ...]:
    events: list[Event] = [decode_event(body) for body in connection.scalars(query)]
    return tuple(event.alarm for event in events if isinstance(event, AlarmChanged))
