"""The one writing connection and its transactions, without threads: the writers are shells around it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TextIO, TypeVar

import sqlalchemy as sa

from fleet.errors import JournalUnavailable
from fleet.journal.engine import claim, reason_of, writing_engine
from fleet.journal.migrations import upgrade

Result = TypeVar("Result")


class Ledger:
    """Owns the writing connection. Used from one thread at a time; every call may wait for the disk."""

    def __init__(self, url: str) -> None:
        self.engine = writing_engine(url)
        self._url = url
        self._claim: TextIO | None = None
        self._connection: sa.Connection | None = None

    def open(self) -> None:
        """Claim the database and bring its schema up to date.

        Raises JournalUnavailable when it is in use, can't be written, or is of newer software.
        """
        self._claim = claim(self._url)
        try:
            self.transact(upgrade)
        except JournalUnavailable:
            self.close()
            raise

    def transact(self, work: Callable[[sa.Connection], Result]) -> Result:
        """Do ``work`` in one transaction and return its result once the commit is durable.

        Raises JournalUnavailable when the database fails: the connection is given up then, and the next call makes
        another. Nothing of ``work`` was kept, unless it was the last step of the commit that failed: then all of it
        may be there, so that ``work`` must bear to be repeated. Other errors pass through; nothing is kept then.
        """
        try:
            connection = self._connected()
            with connection.begin():
                return work(connection)
        except sa.exc.SQLAlchemyError as error:
            self._disconnect()
            raise JournalUnavailable(reason_of(error)) from error

    def close(self) -> None:
        """Give up the connection and the claim."""
        self._disconnect()
        if self._claim is not None:
            self._claim.close()
            self._claim = None

    def _connected(self) -> sa.Connection:
        if self._connection is None:
            self._connection = self.engine.connect()
        return self._connection

    def _disconnect(self) -> None:
        # A full disk has already rolled back; giving the connection up never says ROLLBACK a second time.
        connection, self._connection = self._connection, None
        if connection is not None:
            connection.invalidate()
            connection.close()
