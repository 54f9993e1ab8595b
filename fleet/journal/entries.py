"""What a transaction of the journal writes: events, and with each the state that it brought an alarm or command to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from fleet.journal.tables import ALARMS, COMMANDS, EVENTS, META
from fleet.model.event import (
    AlarmChanged,
    CommandChanged,
    ContactChanged,
    DeviceDescribed,
    Event,
    GuardChanged,
    LeaseChanged,
    NoticeReceived,
    Recorded,
    SettingsChanged,
)
from fleet.model.event_json import encode_event
from fleet.model.retune_event import RetuneChanged

StateEvent = AlarmChanged | CommandChanged
Row = dict[str, object]
_EPOCH_KEY = "epoch"
# Made once: building a statement costs as much as running it.
_LAST_SEQUENCE = sa.select(sa.func.max(EVENTS.c.sequence))
_INSERT_EVENTS = {
    "sqlite": sqlite.insert(EVENTS).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(EVENTS).on_conflict_do_nothing(),
}


def address_of(event: Event) -> str:
    """The address an event is about, empty when it is about the console as a whole."""
    match event:
        case ContactChanged():
            return event.contact.device_id
        case DeviceDescribed():
            return event.description.device_id
        case SettingsChanged():
            return event.address
        case CommandChanged():
            return event.command.target
        case AlarmChanged():
            return event.alarm.address
        case RetuneChanged():
            return "" if event.step is None else event.step.link_id
        case NoticeReceived() | GuardChanged() | LeaseChanged():
            return event.device_id
        case _:
            return ""


def append(connection: sa.Connection, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
    """Write events in their order, and the alarm and command states they carry.

    Events that are there already are passed over, so that a commit whose answer came too late may be repeated before
    any later one. ``states`` are written as states only: for when the events that led there were lost.
    """
    if recorded:
        connection.execute(_INSERT_EVENTS[connection.dialect.name], [_event_row(entry) for entry in recorded])
    events: list[Event] = [*states, *(entry.event for entry in recorded)]
    _put_states(connection, ALARMS, [_alarm_row(event) for event in events if isinstance(event, AlarmChanged)])
    _put_states(connection, COMMANDS, [_command_row(event) for event in events if isinstance(event, CommandChanged)])


def last_sequence(connection: sa.Connection) -> int:
    """The sequence number of the last event, 0 when there is none."""
    return int(connection.scalar(_LAST_SEQUENCE) or 0)


def next_epoch(connection: sa.Connection) -> int:
    """Count the console's starts; the first epoch is 1."""
    found = connection.scalar(sa.select(META.c.value).where(META.c.key == _EPOCH_KEY))
    epoch = int(found or 0) + 1
    connection.execute(sa.delete(META).where(META.c.key == _EPOCH_KEY))
    connection.execute(sa.insert(META).values(key=_EPOCH_KEY, value=epoch))
    return epoch


def _event_row(entry: Recorded) -> Row:
    return {
        "sequence": entry.sequence,
        "kind": entry.event.kind,
        "address": address_of(entry.event),
        "at_utc_us": entry.event.at.utc_us,
        "body": encode_event(entry.event).decode(),
    }


def _alarm_row(event: AlarmChanged) -> Row:
    alarm = event.alarm
    return {"alarm_id": alarm.alarm_id, "state": alarm.state.value, "body": encode_event(event).decode()}


def _command_row(event: CommandChanged) -> Row:
    command = event.command
    return {
        "command_id": command.command_id,
        "state": command.state.value,
        "target": command.target,
        "requested_utc_us": command.requested_utc_us,
        "body": encode_event(event).decode(),
    }


def _put_states(connection: sa.Connection, table: sa.Table, rows: Iterable[Row]) -> None:
    key = next(iter(table.primary_key.columns)).name
    latest = {row[key]: row for row in rows}
    if not latest:
        return
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    insert = dialect.insert(table)
    changed = {column.name: insert.excluded[column.name] for column in table.columns if column.name != key}
    connection.execute(insert.on_conflict_do_update(index_elements=[key], set_=changed), list(latest.values()))
