"""What was acknowledged survives a cut of the power at any write, and so do the states that it led to.

The control runs the same with synchronous NORMAL, which must lose: else the cuts would prove nothing. (SQLite says that
NORMAL in WAL mode "might roll back following a power loss": https://sqlite.org/pragma.html#pragma_synchronous.)
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import apsw
import numpy as np
import sqlalchemy as sa
from sqlalchemy.engine.interfaces import DBAPIConnection

from fleet.errors import JournalUnavailable
from fleet.journal.entries import append
from fleet.journal.ledger import Ledger
from fleet.journal.tables import ALARMS, COMMANDS, EVENTS
from fleet.model.alarm import AlarmState
from fleet.model.command import CommandState
from fleet.model.event import AlarmChanged, CommandChanged, Event
from fleet.model.event_json import decode_event
from tests.journal.samples import alarm_in, command_in, notice, numbered
from tests.promises.power_cut import SCHEME, VFS, Disk
from tests.promises.promise import Promise, Seen, keep

PROMISE = Promise(
    "events_survive",
    "acknowledged events survive",
    "power cuts at every kind of write, un-synced writes dropped and torn",
    "cuts",
    (60, 1_000, 20_000),
)
CUTS_A_TRIAL = 20
COMMITS = 25
CONTROL_EVERY = 4
"""One cut in so many is a control beside."""


def tried(folder: Path, seed: int) -> Seen:
    luck = np.random.default_rng(seed)
    seen: Seen = {"cuts": 0, "acknowledged": 0, "controls": 0, "controls that lost": 0}
    for number in range(CUTS_A_TRIAL):
        url = f"{SCHEME}:///{folder / f'{seed}-{number}.sqlite3'}"
        acknowledged, lost = _cut(url, luck, "FULL")
        assert not lost, f"cut {number}: {lost} of {acknowledged} acknowledged events are gone"
        seen["cuts"] += 1
        seen["acknowledged"] += acknowledged
        if number % CONTROL_EVERY == 0:
            seen["controls"] += 1
            seen["controls that lost"] += _cut(url.replace(".sqlite3", "-control.sqlite3"), luck, "NORMAL")[1] > 0
    return seen


def test_no_acknowledged_event_is_lost_when_the_power_is_cut(tmp_path: Path) -> None:
    seen = keep(PROMISE, partial(tried, tmp_path))
    assert seen["controls that lost"] > 0.2 * seen["controls"], "the cuts must be able to lose what isn't synced"


def _cut(url: str, luck: np.random.Generator, synchronous: str) -> tuple[int, int]:
    """Write until the power is cut; how many events were acknowledged, and how many of them are gone."""
    VFS.disk = Disk()
    VFS.pages_until_checkpoint = int(luck.choice([1_000, 30, 8]))
    VFS.disk.cut = True
    VFS.disk.fails_at = int(luck.integers(20, 400))
    acknowledged = _write(url, luck, synchronous)
    VFS.disk = VFS.disk.after_cut(luck)
    return acknowledged, acknowledged - min(acknowledged, _found(url, luck))


def _write(url: str, luck: np.random.Generator, synchronous: str) -> int:
    last = 0
    with _ledger(url, synchronous) as ledger:
        try:
            ledger.open()
            for _ in range(COMMITS):
                events = _batch(luck, last)
                ledger.transact(partial(append, recorded=numbered(last + 1, *events)))
                last += len(events)
        except (JournalUnavailable, apsw.Error):
            assert VFS.disk.failed
    return last


@contextmanager
def _ledger(url: str, synchronous: str) -> Iterator[Ledger]:
    def set_synchronous(connection: DBAPIConnection, _entry: object) -> None:
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA synchronous = {synchronous}")
        cursor.close()

    ledger = Ledger(url)
    if synchronous != "FULL":
        sa.event.listen(ledger.engine, "connect", set_synchronous)
    try:
        yield ledger
    finally:
        ledger.close()


def _batch(luck: np.random.Generator, last: int) -> list[Event]:
    states = list(CommandState)
    made: list[Event] = []
    for number in range(last + 1, last + 1 + int(luck.integers(1, 6))):
        kind = luck.integers(3)
        if kind == 0:
            made.append(notice(number))
        elif kind == 1:
            made.append(command_in(states[luck.integers(len(states))], f"c-{number % 7}"))
        else:
            made.append(alarm_in(list(AlarmState)[luck.integers(len(AlarmState))]))
    return made


def _found(url: str, luck: np.random.Generator) -> int:
    """How many events are there; they must be whole, in order, and agree with the states, and more can be written."""
    with _ledger(url, "FULL") as ledger:
        ledger.open()
        assert ledger.transact(lambda connection: connection.exec_driver_sql("PRAGMA integrity_check").scalar()) == "ok"
        rows = ledger.transact(lambda connection: connection.execute(sa.select(EVENTS.c.sequence, EVENTS.c.body)).all())
        rows = sorted(rows)
        assert [sequence for sequence, _ in rows] == list(range(1, len(rows) + 1))
        events = [decode_event(body) for _, body in rows]
        for table in (ALARMS, COMMANDS):
            bodies = ledger.transact(partial(_bodies, table))
            assert {_key(decode_event(body)): decode_event(body) for body in bodies} == _last(events, table)
        more = _batch(luck, len(rows))
        ledger.transact(lambda connection: append(connection, numbered(len(rows) + 1, *more)))
    return len(rows)


def _bodies(table: sa.Table, connection: sa.Connection) -> list[str]:
    return list(connection.scalars(sa.select(table.c.body)))


def _last(events: list[Event], table: sa.Table) -> dict[str, Event]:
    shape = AlarmChanged if table is ALARMS else CommandChanged
    return {_key(event): event for event in events if isinstance(event, shape)}


def _key(event: Event) -> str:
    assert isinstance(event, AlarmChanged | CommandChanged)
    return event.alarm.alarm_id if isinstance(event, AlarmChanged) else event.command.command_id
