"""Pages, filters and what is said of an entry that can't be read."""

from __future__ import annotations

from dataclasses import replace

import pytest
import pytest_asyncio
import sqlalchemy as sa
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.errors import JournalUnavailable, NotFound
from fleet.journal.reader import PAGE_MAXIMUM, Reader
from fleet.journal.tables import EVENTS as EVENTS_TABLE
from fleet.journal.writer import InlineWriter
from fleet.model.command import Command, CommandState
from fleet.model.event import CommandChanged, NoticeReceived
from tests.journal.samples import AT, COMMAND, EVENTS, notice, numbered

pytestmark = pytest.mark.asyncio(loop_scope="session")


@pytest_asyncio.fixture
async def inline(url: str) -> InlineWriter:
    writer = InlineWriter(url)
    await writer.open()
    return writer


async def test_pages_follow_one_another_without_gap_or_repeat(inline: InlineWriter, reader: Reader) -> None:
    await inline.commit(numbered(1, *(notice(number) for number in range(25))))
    seen: list[int] = []
    while page := reader.events(since=seen[-1] if seen else 0, limit=10):
        seen += [entry.sequence for entry in page]
    assert seen == list(range(1, 26))
    await inline.close()


async def test_newest_first_goes_backwards(inline: InlineWriter, reader: Reader) -> None:
    await inline.commit(numbered(1, *(notice(number) for number in range(25))))
    first = [entry.sequence for entry in reader.newest(limit=10)]
    second = [entry.sequence for entry in reader.newest(before=first[-1], limit=10)]
    assert first == list(range(25, 15, -1))
    assert second == list(range(15, 5, -1))
    await inline.close()


async def test_a_page_is_never_longer_than_its_bound(inline: InlineWriter, reader: Reader) -> None:
    await inline.commit(numbered(1, *(notice(number) for number in range(PAGE_MAXIMUM + 5))))
    assert len(reader.events(limit=10**9)) == PAGE_MAXIMUM
    assert len(reader.events(limit=0)) == 1
    await inline.close()


async def test_a_kind_and_an_address_narrow_the_page(inline: InlineWriter, reader: Reader) -> None:
    await inline.commit(numbered(1, *EVENTS, NoticeReceived(AT, "quay-11", "count", "a neighbour by name only")))
    kinds = {entry.event.kind for entry in reader.events(address="quay-1")}
    about_it = {"device described", "contact changed", "alarm changed", "notice received", "lease changed"}
    assert kinds == {*about_it, "retune changed"}
    assert [entry.sequence for entry in reader.events(kind="notice received", address="quay-1")] == [9]
    assert [entry.event.kind for entry in reader.events(address="pack/k17")] == ["settings changed", "command changed"]
    assert [entry.event.kind for entry in reader.events(address="quay-1/carrier")] == [
        "alarm changed",
        "retune changed",
    ]
    await inline.close()


async def test_an_address_is_text_and_no_pattern(inline: InlineWriter, reader: Reader) -> None:
    await inline.commit(numbered(1, NoticeReceived(AT, "quayx1", "count", "")))
    assert reader.events(address="quay_1") == ()
    assert reader.events(address="%") == ()
    await inline.close()


async def test_commands_page_newest_first_even_when_asked_at_once(inline: InlineWriter, reader: Reader) -> None:
    commands = [
        replace(COMMAND, command_id=f"c{number}", requested_utc_us=number // 2, state=CommandState.SENT)
        for number in range(7)
    ]
    await inline.commit(numbered(1, *(CommandChanged(AT, command) for command in commands)))
    seen: list[Command] = []
    while page := reader.commands(before=seen[-1] if seen else None, limit=2):
        seen += page
    assert [command.command_id for command in seen] == ["c6", "c5", "c4", "c3", "c2", "c1", "c0"]
    await inline.close()


async def test_an_unknown_command_is_not_found(inline: InlineWriter, reader: Reader) -> None:
    with pytest.raises(NotFound):
        reader.command("c-none")
    await inline.close()


async def test_an_entry_that_cannot_be_read_is_said_in_words(inline: InlineWriter, reader: Reader) -> None:
    row = {"sequence": 1, "kind": "weather changed", "address": "", "at_utc_us": 0}
    body = '{"kind":"weather changed","version":1}'
    await inline.run(lambda connection: connection.execute(sa.insert(EVENTS_TABLE).values(**row, body=body)))
    with pytest.raises(JournalUnavailable, match="weather changed"):
        reader.events()
    await inline.close()


async def test_a_reader_cannot_write(inline: InlineWriter, reader: Reader) -> None:
    with reader._engine.connect() as connection, pytest.raises(sa.exc.OperationalError, match="readonly"):
        connection.execute(sa.delete(EVENTS_TABLE))
    await inline.close()


@settings(max_examples=20, deadline=None)
@given(
    words=st.text(st.characters(exclude_categories=["Cs"]), max_size=200), device_id=st.from_regex("[a-z0-9._-]{1,64}")
)
async def test_any_words_come_back_as_they_were(
    tmp_path_factory: pytest.TempPathFactory, words: str, device_id: str
) -> None:
    url = f"sqlite:///{tmp_path_factory.mktemp('words') / 'journal.sqlite3'}"
    writer, reader = InlineWriter(url), Reader(url)
    await writer.open()
    recorded = numbered(1, NoticeReceived(AT, device_id.strip(), "words", words))
    await writer.commit(recorded)
    assert reader.events() == recorded
    await writer.close()
    reader.close()
