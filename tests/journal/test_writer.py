"""What a commit promises, with either writer."""

from __future__ import annotations

import asyncio
import threading

import pytest
import sqlalchemy as sa

from fleet.errors import JournalUnavailable, LimitReached
from fleet.journal import writer as writer_module
from fleet.journal.entries import append
from fleet.journal.reader import Reader
from fleet.journal.writer import InlineWriter, JournalWriter, Writer
from fleet.model.alarm import AlarmState
from fleet.model.command import CommandState
from tests.journal.samples import EVENTS, alarm_in, command_in, notice, numbered

pytestmark = pytest.mark.asyncio


async def test_events_are_read_back_in_their_order(writer: JournalWriter, reader: Reader) -> None:
    recorded = numbered(1, *EVENTS)
    await writer.commit(recorded)
    assert reader.events() == recorded
    assert reader.last_sequence() == len(EVENTS)


async def test_the_states_of_alarms_and_commands_come_with_their_events(writer: JournalWriter, reader: Reader) -> None:
    await writer.commit(numbered(1, alarm_in(AlarmState.UNACKNOWLEDGED), command_in(CommandState.SENT)))
    await writer.commit(numbered(3, alarm_in(AlarmState.ACKNOWLEDGED), command_in(CommandState.ACCEPTED)))
    assert [alarm.state for alarm in reader.alarms()] == [AlarmState.ACKNOWLEDGED]
    assert [command.state for command in reader.open_commands()] == [CommandState.ACCEPTED]


async def test_what_has_ended_is_no_longer_open(writer: JournalWriter, reader: Reader) -> None:
    await writer.commit(numbered(1, alarm_in(AlarmState.UNACKNOWLEDGED), command_in(CommandState.SENT)))
    await writer.commit(numbered(3, alarm_in(AlarmState.NORMAL), command_in(CommandState.CONFIRMED)))
    assert reader.alarms() == ()
    assert reader.open_commands() == ()
    assert reader.command("c-17").state is CommandState.CONFIRMED


async def test_a_commit_repeated_after_a_late_answer_changes_nothing(writer: JournalWriter, reader: Reader) -> None:
    await writer.commit(numbered(1, notice(1), command_in(CommandState.SENT)))
    await writer.commit(numbered(1, notice(1), command_in(CommandState.SENT), command_in(CommandState.UNKNOWN)))
    assert [entry.sequence for entry in reader.events()] == [1, 2, 3]
    assert reader.command("c-17").state is CommandState.UNKNOWN


async def test_states_alone_are_written_when_their_events_were_lost(writer: JournalWriter, reader: Reader) -> None:
    await writer.commit(numbered(1, notice(1)), states=[alarm_in(AlarmState.UNACKNOWLEDGED)])
    assert len(reader.events()) == 1
    assert len(reader.alarms()) == 1


async def test_nothing_of_a_failed_transaction_is_kept(writer: JournalWriter, reader: Reader) -> None:
    async def fail_after_writing() -> None:
        def work(connection: sa.Connection) -> None:
            append(connection, numbered(1, notice(1), alarm_in(AlarmState.UNACKNOWLEDGED)))
            raise LookupError("after the write")

        await writer.run(work)

    with pytest.raises(LookupError):
        await fail_after_writing()
    assert reader.events() == ()
    assert reader.alarms() == ()
    await writer.commit(numbered(1, notice(2)))
    assert reader.last_sequence() == 1


async def test_epochs_count_the_starts(writer: JournalWriter) -> None:
    assert [await writer.next_epoch() for _ in range(3)] == [1, 2, 3]


async def test_the_database_keeps_a_full_write_ahead_log(writer: JournalWriter) -> None:
    def pragmas(connection: sa.Connection) -> tuple[object, ...]:
        names = ("journal_mode", "synchronous")
        return tuple(connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in names)

    # SQLite numbers synchronous: 0 OFF, 1 NORMAL, 2 FULL, 3 EXTRA (https://sqlite.org/pragma.html#pragma_synchronous).
    assert await writer.run(pragmas) == ("wal", 2)


async def test_a_second_console_on_the_same_journal_is_refused(writer: JournalWriter, url: str) -> None:
    assert writer is not None
    second = InlineWriter(url)
    with pytest.raises(JournalUnavailable, match="in use by another console"):
        await second.open()


async def test_after_closing_the_journal_may_be_opened_again(url: str) -> None:
    for number in (1, 2):
        again = Writer(url)
        await again.open()
        await again.commit(numbered(number, notice(number)))
        await again.close()
    reader = Reader(url)
    assert reader.last_sequence() == 2
    reader.close()


async def test_what_queues_during_a_commit_shares_the_next_one(url: str, reader: Reader) -> None:
    writer = Writer(url)
    await writer.open()
    commits = 0

    @sa.event.listens_for(writer.ledger.engine, "commit")
    def count(_connection: sa.Connection) -> None:
        nonlocal commits
        commits += 1

    gate = threading.Event()
    held = asyncio.create_task(writer.run(lambda _connection: gate.wait()))
    waiting = [asyncio.create_task(writer.commit(numbered(number, notice(number)))) for number in range(1, 51)]
    await asyncio.sleep(0)  # noqa: TID251  (lets the tasks queue their work; no time passes)
    gate.set()
    await asyncio.gather(held, *waiting)
    await writer.close()
    assert reader.last_sequence() == 50
    assert commits == 2


async def test_more_work_than_may_queue_is_refused(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writer_module, "QUEUED_MAXIMUM", 2)
    writer = Writer(url)
    await writer.open()
    gate, begun = threading.Event(), asyncio.Event()
    loop = asyncio.get_running_loop()

    def hold(_connection: sa.Connection) -> None:
        loop.call_soon_threadsafe(begun.set)
        gate.wait()

    held = asyncio.create_task(writer.run(hold))
    await begun.wait()
    waiting = [asyncio.create_task(writer.commit(numbered(number, notice(number)))) for number in (1, 2)]
    await asyncio.sleep(0)  # noqa: TID251  (lets the tasks queue their work; no time passes)
    with pytest.raises(LimitReached):
        await writer.commit(numbered(3, notice(3)))
    gate.set()
    await asyncio.gather(held, *waiting)
    await writer.close()
