"""The schema is made once, upgraded once, and never touched by software that is too old for it."""

from __future__ import annotations

import pytest
import sqlalchemy as sa

from fleet.errors import JournalUnavailable
from fleet.journal import migrations
from fleet.journal.ledger import Ledger
from fleet.journal.tables import META


def test_a_fresh_database_is_brought_up_step_by_step(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    steps = (*migrations.STEPS, lambda _connection: done.append("second"))
    first = Ledger(url)
    first.open()
    first.close()
    monkeypatch.setattr(migrations, "STEPS", steps)
    for _ in range(2):
        ledger = Ledger(url)
        ledger.open()
        ledger.close()
    assert done == ["second"]


def test_a_step_that_fails_leaves_the_old_version(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def half(connection: sa.Connection) -> None:
        connection.exec_driver_sql("CREATE TABLE half (a INTEGER)")
        connection.exec_driver_sql("this is no SQL")

    first = Ledger(url)
    first.open()
    first.close()
    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, half))
    with pytest.raises(JournalUnavailable):
        Ledger(url).open()
    monkeypatch.undo()
    again = Ledger(url)
    again.open()
    assert again.transact(lambda connection: sa.inspect(connection).has_table("half")) is False
    again.close()


def test_a_database_of_newer_software_is_refused_in_words(url: str) -> None:
    ledger = Ledger(url)
    ledger.open()
    ledger.transact(lambda connection: connection.execute(sa.update(META).values(value=99)))
    ledger.close()
    with pytest.raises(JournalUnavailable, match="run the newer software"):
        Ledger(url).open()
