"""The production on the shelf: what a start-up file replaces and what it leaves alone; every revision stays."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from fleet.errors import NotFound, RevisionStale
from fleet.journal.documents import Documents
from fleet.journal.writer import Writer
from fleet.shelf import START_UP, Shelf, shipped_documents
from tests.planning.evening import PRODUCTION

EDITED = replace(PRODUCTION, name="The Lamp, edited")
OTHER_FILE = replace(PRODUCTION, name="The Lamp, second night")


@asynccontextmanager
async def shelf_at(folder: Path) -> AsyncIterator[Shelf]:
    url = f"sqlite:///{folder}/journal.sqlite3"
    writer = Writer(url)
    await writer.open()
    documents = Documents(url, writer, shipped_documents())
    try:
        yield Shelf(documents)
    finally:
        documents.close()
        await writer.close()


async def test_a_file_is_taken_up_once_and_again_only_when_it_says_something_else(tmp_path: Path) -> None:
    async with shelf_at(tmp_path) as shelf:
        assert await shelf.production() is None
        assert await shelf.adopt_production(PRODUCTION, 1) == 1
        assert await shelf.adopt_production(PRODUCTION, 2) == 1
        assert await shelf.put_production(EDITED, 1, "Engineer", 3) == 2
        assert await shelf.adopt_production(PRODUCTION, 4) == 2, "what people changed stands"
        assert await shelf.production() == (EDITED, 2)
        assert await shelf.adopt_production(OTHER_FILE, 5) == 3
        assert await shelf.production() == (OTHER_FILE, 3)


async def test_every_revision_stays_and_a_stale_write_keeps_nothing(tmp_path: Path) -> None:
    async with shelf_at(tmp_path) as shelf:
        await shelf.put_production(PRODUCTION, 0, START_UP, 1)
        await shelf.put_production(EDITED, 1, "Engineer", 2)
        with pytest.raises(RevisionStale):
            await shelf.put_production(OTHER_FILE, 1, "Operator", 3)
        kept = await shelf.production_revisions()
        assert [(one.revision, one.by, one.at_utc_us) for one in kept] == [(1, START_UP, 1), (2, "Engineer", 2)]
        assert await shelf.production_at(1) == PRODUCTION
        with pytest.raises(NotFound):
            await shelf.production_at(3)
