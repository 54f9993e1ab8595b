"""Database engines for the journal: one that writes, one that only reads. The URL alone names the database."""

from __future__ import annotations

import fcntl
import logging
import sqlite3
from pathlib import Path
from typing import TextIO

import sqlalchemy as sa
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry, NullPool

from fleet.errors import JournalUnavailable

BUSY_TIMEOUT_MS = 1_000
READERS_MAXIMUM = 4
READER_WITHIN_S = 5.0
_LOG = logging.getLogger(__name__)


def writing_engine(url: str) -> sa.Engine:
    """An engine whose connections begin every transaction with the write lock in hand.

    On SQLite: WAL (checked), synchronous FULL, BEGIN IMMEDIATE. A deferred BEGIN that reads first and writes later
    fails at once whatever the busy timeout.
    """
    engine = sa.create_engine(url, poolclass=NullPool)
    if _is_sqlite(engine):
        _LOG.info("The journal is kept by SQLite %s.", sqlite3.sqlite_version)
        sa.event.listen(engine, "connect", _prepare_writing)
        sa.event.listen(engine, "begin", _begin_immediate)
    return engine


def reading_engine(url: str) -> sa.Engine:
    """An engine whose connections can't write. At most four at a time; the next waits 5 s for one."""
    engine = sa.create_engine(url, pool_size=READERS_MAXIMUM, max_overflow=0, pool_timeout=READER_WITHIN_S)
    if _is_sqlite(engine):
        sa.event.listen(engine, "connect", _prepare_reading)
    return engine


def claim(url: str) -> TextIO | None:
    """Hold the one right to write a SQLite database until the returned file is closed or the process ends.

    Two consoles on one journal would number their events alike. Raises JournalUnavailable when another holds it, or
    when the folder can't be written. Other databases return None.
    """
    parsed = sa.make_url(url)
    if parsed.get_backend_name() != "sqlite" or not parsed.database:
        return None
    path = Path(f"{parsed.database}.lock")
    try:
        file = path.open("a", encoding="utf-8")
    except OSError as error:
        raise JournalUnavailable(f"{path}: {error.strerror}") from error
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        file.close()
        raise JournalUnavailable(f"{parsed.database} is in use by another console") from error
    return file


def reason_of(error: sa.exc.SQLAlchemyError) -> str:
    """What the database said, without the statement and its values."""
    original = getattr(error, "orig", None)
    return str(error) if original is None else str(original)


def _is_sqlite(engine: sa.Engine) -> bool:
    return engine.dialect.name == "sqlite"


def _prepare_writing(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    # Python's own transaction handling would begin deferred; ours begins in _begin_immediate.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    (mode,) = cursor.fetchone() or ("nothing",)
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.close()
    if mode != "wal":
        raise JournalUnavailable(f"the database can't keep a write-ahead log here (it answers {mode!r})")


def _prepare_reading(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA query_only = ON")
    cursor.close()


def _begin_immediate(connection: sa.Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")
