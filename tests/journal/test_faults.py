"""A full disk, a folder that can't be written, a file that is no database, a process killed while it writes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
import sqlalchemy as sa

from fleet.errors import JournalUnavailable
from fleet.journal.engine import claim
from fleet.journal.entries import append
from fleet.journal.ledger import Ledger
from fleet.journal.reader import Reader
from fleet.model.alarm import AlarmState
from fleet.model.event import Event, NoticeReceived
from tests.journal.samples import AT, alarm_in, notice, numbered

REPOSITORY = Path(__file__).parents[2]
KILLS = 6
PAGES_WHEN_FULL = 40
PAGES_WITH_ROOM = 4_000


def commit(ledger: Ledger, first: int, *events: Event) -> None:
    ledger.transact(lambda connection: append(connection, numbered(first, *events)))


def limit_pages(ledger: Ledger, pages: int) -> None:
    """Make the disk full, or give it room again, for this connection and those to come."""

    def limit(connection: sa.engine.interfaces.DBAPIConnection, _entry: object) -> None:
        connection.execute(f"PRAGMA max_page_count = {pages}")

    sa.event.listen(ledger.engine, "connect", limit)
    ledger.transact(lambda connection: connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}"))


def big(number: int) -> NoticeReceived:
    return NoticeReceived(AT, "quay-1", "big", f"{number}" + "x" * 8_000)


def fill(ledger: Ledger) -> tuple[int, JournalUnavailable]:
    """Write until the disk is full; the number of events kept and what was raised."""
    for sequence in range(1, 1_000):
        try:
            commit(ledger, sequence, big(sequence))
        except JournalUnavailable as error:
            return sequence - 1, error
    raise AssertionError("the disk never filled")


@pytest.fixture
def ledger(url: str) -> Ledger:
    made = Ledger(url)
    made.open()
    return made


def test_a_full_disk_keeps_what_was_acknowledged_and_takes_more_once_there_is_room(
    ledger: Ledger, reader: Reader
) -> None:
    limit_pages(ledger, PAGES_WHEN_FULL)
    kept, error = fill(ledger)
    assert "full" in error.reason
    assert [entry.sequence for entry in reader.events()] == list(range(1, kept + 1))
    limit_pages(ledger, PAGES_WITH_ROOM)
    commit(ledger, kept + 1, big(kept + 1))
    assert reader.last_sequence() == kept + 1
    ledger.close()


def test_an_event_and_its_alarm_are_lost_together_when_the_disk_is_full(ledger: Ledger, reader: Reader) -> None:
    limit_pages(ledger, PAGES_WHEN_FULL)
    kept, _ = fill(ledger)
    with pytest.raises(JournalUnavailable):
        commit(ledger, kept + 1, alarm_in(AlarmState.UNACKNOWLEDGED), *(big(number) for number in range(50)))
    assert reader.alarms() == ()
    assert reader.last_sequence() == kept
    ledger.close()


def test_after_a_full_disk_sqlite_itself_refuses_a_second_rollback(ledger: Ledger) -> None:
    """The trap that the ledger avoids: SQLite has rolled back already (https://sqlite.org/lang_transaction.html)."""
    limit_pages(ledger, PAGES_WHEN_FULL)
    fill(ledger)
    raw = ledger.engine.raw_connection()
    cursor = raw.cursor()
    cursor.execute("BEGIN IMMEDIATE")
    row = ("k", "a", 0, "x" * 1_000_000)
    with pytest.raises(Exception, match="full"):
        cursor.execute("INSERT INTO events VALUES (9999, ?, ?, ?, ?)", row)
    with pytest.raises(Exception, match="no transaction is active"):
        cursor.execute("ROLLBACK")
    raw.close()
    ledger.close()


def test_a_file_size_limit_of_the_system_is_said_in_words(url: str) -> None:
    """RLIMIT_FSIZE holds for a whole process, so one of its own feels it."""
    program = f"""
import resource, signal, sys
sys.path.insert(0, {str(REPOSITORY)!r})
from fleet.errors import JournalUnavailable
from tests.journal.test_faults import Ledger, fill
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
ledger = Ledger({url!r})
ledger.open()
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))
kept, error = fill(ledger)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
from tests.journal.test_faults import big, commit
commit(ledger, kept + 1, big(kept + 1))
print(kept, error.reason)
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stderr
    kept = int(done.stdout.split()[0])
    reader = Reader(url)
    assert reader.last_sequence() == kept + 1
    reader.close()


def test_a_folder_that_does_not_exist_is_said_in_words(tmp_path: Path) -> None:
    with pytest.raises(JournalUnavailable, match="No such file"):
        Ledger(f"sqlite:///{tmp_path / 'absent' / 'journal.sqlite3'}").open()


def test_a_file_that_is_no_database_is_said_in_words(tmp_path: Path) -> None:
    path = tmp_path / "journal.sqlite3"
    path.write_text("The Lamp at Tern Rock\n" * 100)
    with pytest.raises(JournalUnavailable, match="not a database"):
        Ledger(f"sqlite:///{path}").open()


def test_a_database_that_turns_read_only_is_unavailable_and_comes_back(ledger: Ledger, reader: Reader) -> None:
    """``query_only`` refuses as a read-only file does, for root as well, who may write any file."""
    commit(ledger, 1, notice(1))
    ledger.transact(lambda connection: connection.exec_driver_sql("PRAGMA query_only = ON"))
    with pytest.raises(JournalUnavailable, match="readonly"):
        commit(ledger, 2, notice(2))
    commit(ledger, 2, notice(2))  # The connection was given up; a new one may write.
    assert reader.last_sequence() == 2
    ledger.close()


def test_a_read_only_folder_is_unavailable_for_those_it_binds() -> None:
    """Root may write anywhere, so a process without that right tries it, after proving that it can look inside."""
    program = f"""
import os, sys
sys.path.insert(0, {str(REPOSITORY)!r})
from fleet.errors import JournalUnavailable
from fleet.journal.ledger import Ledger
if os.getuid() == 0:
    os.setgroups([])
    os.setresuid(65534, 65534, 65534)
folder = sys.argv[1]
os.listdir(folder)
try:
    Ledger(f"sqlite:///{{folder}}/journal.sqlite3").open()
except JournalUnavailable as error:
    print(error.reason)
"""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o555)
        command = [sys.executable, "-c", program, folder]
        done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == 0, done.stderr
    assert "Permission denied" in done.stdout


def test_only_a_database_in_a_file_is_claimed() -> None:
    assert claim("sqlite://") is None


WRITING = f"""
import sys
sys.path.insert(0, {str(REPOSITORY)!r})
from fleet.journal.reader import Reader
from tests.journal.test_faults import Ledger, commit
from tests.journal.samples import command_in, notice, CommandState
ledger = Ledger(sys.argv[1])
ledger.open()
sequence = Reader(sys.argv[1]).last_sequence()
while True:
    commit(ledger, sequence + 1, notice(sequence + 1), command_in(CommandState.SENT, f"c-{{sequence + 1}}"))
    sequence += 2
    sys.stdout.write(f"{{sequence}}\\n")
    sys.stdout.flush()
"""


def killed_while_writing(url: str, acknowledgements: int) -> int:
    """Let a process write, kill it after so many acknowledgements, and return the last sequence it acknowledged."""
    with subprocess.Popen([sys.executable, "-c", WRITING, url], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(acknowledgements)]
        os.kill(process.pid, signal.SIGKILL)
        lines += process.stdout.read().splitlines(keepends=True)
    return int([line for line in lines if line.endswith("\n")][-1])


def test_a_killed_process_loses_nothing_it_acknowledged(url: str) -> None:
    """A kill leaves the page cache behind: this proves the transactions, not the syncing of the disk."""
    reader = Reader(url)
    for kill in range(KILLS):
        acknowledged = killed_while_writing(url, acknowledgements=10 + 7 * kill)
        events = reader.events(since=max(0, acknowledged - 500), limit=1_000)
        assert [entry.sequence for entry in events] == list(range(events[0].sequence, events[-1].sequence + 1))
        assert events[-1].sequence >= acknowledged
        assert len(reader.open_commands()) == events[-1].sequence // 2
    reader.close()
