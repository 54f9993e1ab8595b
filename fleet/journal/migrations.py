"""The journal's schema by version: made when missing, upgraded step by step, refused when it is newer than we are."""

from __future__ import annotations

from collections.abc import Callable

import sqlalchemy as sa

from fleet.errors import JournalUnavailable
from fleet.journal.tables import (
    ALARMS,
    COMMANDS,
    DOCUMENTS,
    EVENTS,
    META,
    METADATA,
    PEOPLE,
    SESSIONS,
    TOKENS,
)

_VERSION_KEY = "schema version"


def _first(connection: sa.Connection) -> None:
    METADATA.create_all(connection, [META, EVENTS, ALARMS, COMMANDS, DOCUMENTS])


def _people(connection: sa.Connection) -> None:
    METADATA.create_all(connection, [PEOPLE, SESSIONS, TOKENS])


STEPS: tuple[Callable[[sa.Connection], None], ...] = (_first, _people)
"""Step n brings a database of version n to version n + 1. A step that was released never changes."""


def upgrade(connection: sa.Connection) -> int:
    """Bring the schema to the present version inside the caller's transaction; return the version it had.

    Raises JournalUnavailable when the database was written by newer software.
    """
    found = _version(connection)
    if found > len(STEPS):
        raise JournalUnavailable(
            f"its schema has version {found}, this software knows {len(STEPS)}; run the newer software"
        )
    for step in STEPS[found:]:
        step(connection)
    _set_version(connection, len(STEPS))
    return found


def _version(connection: sa.Connection) -> int:
    if not sa.inspect(connection).has_table(META.name):
        return 0
    value = connection.scalar(sa.select(META.c.value).where(META.c.key == _VERSION_KEY))
    return 0 if value is None else int(value)


def _set_version(connection: sa.Connection, version: int) -> None:
    connection.execute(sa.delete(META).where(META.c.key == _VERSION_KEY))
    connection.execute(sa.insert(META).values(key=_VERSION_KEY, value=version))
