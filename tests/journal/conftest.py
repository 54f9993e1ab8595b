"""A database in a fresh folder, and writers on it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest
import pytest_asyncio

from fleet.journal.reader import Reader
from fleet.journal.writer import InlineWriter, JournalWriter, Writer


@pytest.fixture
def url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'journal.sqlite3'}"


@pytest_asyncio.fixture(params=[Writer, InlineWriter])
async def writer(request: pytest.FixtureRequest, url: str) -> AsyncIterator[JournalWriter]:
    made: JournalWriter = request.param(url)
    await made.open()
    yield made
    await made.close()


@pytest.fixture
def reader(url: str) -> Iterator[Reader]:
    made = Reader(url)
    yield made
    made.close()
