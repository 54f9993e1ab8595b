"""A disk in memory that keeps for certain only what was synced, and a SQLite driver that writes to it.

A cut of the power drops and tears what was written since: of each write nothing, all, or some sectors arrive. A kill of
the process can't show this, for the page cache outlives it.
"""

from __future__ import annotations

import contextlib
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any, ClassVar

import apsw
import numpy as np
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.engine import URL

SECTOR_BYTES = 512
SCHEME = "sqlite+powercut"
Write = tuple[int, bytes]


@dataclass
class Stored:
    """One file: what is certain, what the running system sees, and the writes that separate the two."""

    certain: bytearray = field(default_factory=bytearray)
    seen: bytearray = field(default_factory=bytearray)
    unsynced: list[Write | int] = field(default_factory=list)

    def write(self, offset: int, data: bytes) -> None:
        _put(self.seen, offset, data)
        self.unsynced.append((offset, data))

    def truncate(self, size: int) -> None:
        del self.seen[size:]
        self.unsynced.append(size)

    def sync(self) -> None:
        self.certain = bytearray(self.seen)
        self.unsynced.clear()

    def after_cut(self, luck: np.random.Generator) -> Stored:
        """What is found when the power is back."""
        image = bytearray(self.certain)
        for change in self.unsynced:
            if isinstance(change, int):
                if luck.random() < 0.5:
                    del image[change:]
                continue
            for offset, data in _arrived(*change, luck):
                _put(image, offset, data)
        return Stored(image, bytearray(image))


def _put(image: bytearray, offset: int, data: bytes) -> None:
    if len(image) < offset:
        image.extend(bytes(offset - len(image)))
    image[offset : offset + len(data)] = data


def _arrived(offset: int, data: bytes, luck: np.random.Generator) -> Iterator[Write]:
    fate = luck.random()
    if fate < 0.4:
        return
    if fate < 0.7:
        yield offset, data
        return
    for start in range(0, len(data), SECTOR_BYTES):
        if luck.random() < 0.5:
            yield offset + start, data[start : start + SECTOR_BYTES]


class Disk:
    """Files by path.

    ``fails_at`` is the number of the write or sync that fails with ``fault``; when the power is ``cut`` then, so does
    everything after it.
    """

    def __init__(self) -> None:
        self.files: dict[str, Stored] = {}
        self.done = 0
        self.fails_at: int | None = None
        self.cut = False
        self.fault: type[Exception] = apsw.IOError

    def count(self) -> None:
        """One more write or sync; raises when it is the one that fails."""
        self.done += 1
        if self.fails_at is None or self.done < self.fails_at:
            return
        if self.cut or self.done == self.fails_at:
            raise self.fault("on cue")

    @property
    def failed(self) -> bool:
        return self.fails_at is not None and self.done >= self.fails_at

    def after_cut(self, luck: np.random.Generator) -> Disk:
        """The disk as it is found when the power is back."""
        found = Disk()
        found.files = {path: stored.after_cut(luck) for path, stored in self.files.items()}
        return found


class _File:
    """An open file, as SQLite wants it. Only one connection opens it, so that locks are always had."""

    def __init__(self, disk: Disk, path: str, *, temporary: bool) -> None:
        self._disk = disk
        self._path = path
        self._temporary = temporary
        disk.files.setdefault(path, Stored())

    @property
    def _stored(self) -> Stored:
        return self._disk.files[self._path]

    def xRead(self, amount: int, offset: int) -> bytes:  # noqa: N802 - SQLite's names, here and below.
        return bytes(self._stored.seen[offset : offset + amount])

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802
        self._disk.count()
        self._stored.write(offset, bytes(data))

    def xSync(self, flags: int) -> None:  # noqa: N802
        del flags
        self._disk.count()
        self._stored.sync()

    def xTruncate(self, size: int) -> None:  # noqa: N802
        self._disk.count()
        self._stored.truncate(size)

    def xFileSize(self) -> int:  # noqa: N802
        return len(self._stored.seen)

    def xClose(self) -> None:  # noqa: N802
        if self._temporary:
            del self._disk.files[self._path]

    def xLock(self, level: int) -> None:  # noqa: N802
        del level

    def xUnlock(self, level: int) -> None:  # noqa: N802
        del level

    def xCheckReservedLock(self) -> bool:  # noqa: N802
        return False

    def xFileControl(self, op: int, pointer: int) -> bool:  # noqa: N802
        del op, pointer
        return False

    def xSectorSize(self) -> int:  # noqa: N802
        return SECTOR_BYTES

    def xDeviceCharacteristics(self) -> int:  # noqa: N802
        return 0


class _Vfs(apsw.VFS):
    """Leads SQLite to the disk in use; time and chance are the system's."""

    NAME: ClassVar[str] = "powercut"

    def __init__(self) -> None:
        self.disk = Disk()
        self.pages_until_checkpoint = 1_000
        self._temporary = itertools.count()
        super().__init__(self.NAME, "")

    def xOpen(self, name: Any, flags: list[int]) -> Any:  # noqa: N802
        path = f"temporary-{next(self._temporary)}" if name is None else _path(name)
        flags[1] = flags[0]
        return _File(self.disk, path, temporary=name is None)

    def xAccess(self, pathname: str, flags: int) -> bool:  # noqa: N802
        del flags
        return pathname in self.disk.files

    def xDelete(self, filename: str, syncdir: bool) -> None:  # noqa: N802
        del syncdir
        self.disk.count()
        self.disk.files.pop(filename, None)

    def xFullPathname(self, name: str) -> str:  # noqa: N802
        return name


def _path(name: Any) -> str:
    return name.filename() if isinstance(name, apsw.URIFilename) else str(name)


VFS = _Vfs()


# ---------------------------------------------------------------- the driver


class _Cursor:
    """What SQLAlchemy needs of a cursor; rows are taken at once."""

    arraysize = 1

    def __init__(self, connection: apsw.Connection) -> None:
        self._connection = connection
        self._rows: Iterator[Any] = iter(())
        self.description: Any = None
        self.lastrowid: int | None = None
        self.rowcount = -1

    def execute(self, statement: str, parameters: Sequence[Any] = ()) -> _Cursor:
        cursor = self._connection.cursor()
        cursor.exec_trace = self._describe
        self.description = None
        self._rows = iter(list(cursor.execute(statement, tuple(parameters))))
        self.rowcount = self._connection.changes()
        self.lastrowid = self._connection.last_insert_rowid()
        return self

    def _describe(self, cursor: apsw.Cursor, statement: str, bindings: object) -> bool:
        del statement, bindings
        described = cursor.get_description()
        self.description = tuple((name, None, None, None, None, None, None) for name, _ in described) or None
        return True

    def executemany(self, statement: str, many: Sequence[Sequence[Any]]) -> _Cursor:
        for parameters in many:
            self.execute(statement, parameters)
        return self

    def fetchone(self) -> Any:
        return next(self._rows, None)

    def fetchmany(self, size: int = 1) -> list[Any]:
        return list(itertools.islice(self._rows, size))

    def fetchall(self) -> list[Any]:
        return list(self._rows)

    def close(self) -> None:
        self._rows = iter(())


class _Connection:
    """What SQLAlchemy needs of a connection. Alone with its file, it keeps the index of the log in memory."""

    def __init__(self, path: str) -> None:
        self.isolation_level: str | None = ""
        self._connection = apsw.Connection(path, vfs=VFS.NAME)
        self._connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        self._connection.execute(f"PRAGMA wal_autocheckpoint = {VFS.pages_until_checkpoint}")

    def cursor(self) -> _Cursor:
        return _Cursor(self._connection)

    def commit(self) -> None:
        if self._connection.in_transaction:
            self._connection.execute("COMMIT")

    def rollback(self) -> None:
        if self._connection.in_transaction:
            self._connection.execute("ROLLBACK")

    def close(self) -> None:
        with contextlib.suppress(apsw.Error):  # A disk that is gone says so once more.
            self._connection.close(True)


def _connect(path: str) -> _Connection:
    return _Connection(path)


_DBAPI = SimpleNamespace(
    Error=apsw.Error,
    ProgrammingError=apsw.MisuseError,
    connect=_connect,
    paramstyle="qmark",
    sqlite_version_info=tuple(int(part) for part in apsw.sqlite_lib_version().split(".")),
    sqlite_version=apsw.sqlite_lib_version(),
)


class PowerCutDialect(SQLiteDialect_pysqlite):
    """SQLAlchemy's dialect of SQLite over that driver."""

    driver = "powercut"
    supports_statement_cache = True

    @classmethod
    def import_dbapi(cls) -> Any:
        return _DBAPI

    def create_connect_args(self, url: URL) -> Any:
        return [url.database], {}

    def on_connect(self) -> Any:
        return None


registry.register("sqlite.powercut", "tests.promises.power_cut", "PowerCutDialect")
