"""Documents that people edit: production, rules and the like. Every revision is kept; shipped ones can't be changed."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

import msgspec
import sqlalchemy as sa

from fleet.errors import JournalUnavailable, LimitReached, NotFound, RevisionMissing, RevisionStale
from fleet.journal.engine import reading_engine, reason_of
from fleet.journal.tables import DOCUMENTS
from fleet.journal.writer import JournalWriter

BODY_BYTES_MAXIMUM = 1_048_576
SHIPPED_REVISION = 0
PUT_WITHIN_S = 5.0
Body = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Document:
    """One revision of a document. Revision 0 is the shipped text; what people write begins at 1."""

    kind: str
    name: str
    revision: int
    body: Body
    by: str = ""
    at_utc_us: int | None = None


@dataclass(frozen=True, slots=True)
class Draft:
    """What somebody wants a document to say, the revision they saw (None for a new document), and when."""

    kind: str
    name: str
    body: Body
    seen_revision: int | None
    by: str
    at_utc_us: int


class Documents:
    """Reads over connections of its own and writes through the journal's one writer.

    ``shipped`` holds the bodies that come with the software, by kind and name: each stands as revision 0 beneath what
    people write and never changes.
    """

    def __init__(self, url: str, writer: JournalWriter, shipped: Mapping[tuple[str, str], Body] | None = None) -> None:
        self._engine = reading_engine(url)
        self._writer = writer
        self._shipped = dict(shipped or {})

    def get(self, kind: str, name: str, revision: int | None = None) -> Document:
        """The document as it stands, or as it stood at a revision. Raises NotFound and JournalUnavailable."""
        query = _named(kind, name)
        if revision is not None:
            query = query.where(DOCUMENTS.c.revision == revision)
        stored = self._read(query.order_by(DOCUMENTS.c.revision.desc()).limit(1))
        if stored:
            return stored[0]
        if revision in (None, SHIPPED_REVISION) and (kind, name) in self._shipped:
            return self._shipped_document(kind, name)
        raise NotFound(kind, name if revision is None else f"{name} at revision {revision}")

    def all_of(self, kind: str) -> tuple[Document, ...]:
        """Each document of a kind as it stands, by name."""
        stored = {document.name: document for document in self._read(_of_kind(kind))}
        shipped = {name: self._shipped_document(kind, name) for its_kind, name in self._shipped if its_kind == kind}
        return tuple(document for _, document in sorted({**shipped, **stored}.items()))

    def revisions(self, kind: str, name: str) -> tuple[Document, ...]:
        """Every revision of a document, oldest first, the shipped one included."""
        stored = self._read(_named(kind, name).order_by(DOCUMENTS.c.revision))
        return (self._shipped_document(kind, name), *stored) if (kind, name) in self._shipped else stored

    async def put(self, draft: Draft) -> Document:
        """Keep a new revision and return it once it is durable.

        Raises RevisionMissing when the document exists and the draft names no revision, RevisionStale when the one it
        names is no longer current, LimitReached above 1 MiB, JournalUnavailable. Nothing is kept then, unless the disk
        answers after the five seconds that it is given.
        """
        body = msgspec.json.encode(draft.body, order="sorted")
        if len(body) > BODY_BYTES_MAXIMUM:
            raise LimitReached("bytes of a document", BODY_BYTES_MAXIMUM)
        shipped = self._shipped.get((draft.kind, draft.name))
        insert = partial(_insert, draft=draft, body=body.decode(), shipped=shipped)
        try:
            async with asyncio.timeout(PUT_WITHIN_S):
                return await self._writer.run(insert)
        except TimeoutError as error:
            raise JournalUnavailable(f"the disk did not answer within {PUT_WITHIN_S:g} s") from error

    def close(self) -> None:
        """Give the connections up."""
        self._engine.dispose()

    def _shipped_document(self, kind: str, name: str) -> Document:
        return Document(kind, name, SHIPPED_REVISION, self._shipped[kind, name])

    def _read(self, query: sa.Select[Any]) -> tuple[Document, ...]:
        try:
            with self._engine.connect() as connection:
                return tuple(_document(row) for row in connection.execute(query))
        except sa.exc.SQLAlchemyError as error:
            raise JournalUnavailable(reason_of(error)) from error


def _named(kind: str, name: str) -> sa.Select[Any]:
    return sa.select(DOCUMENTS).where(DOCUMENTS.c.kind == kind, DOCUMENTS.c.name == name)


def _of_kind(kind: str) -> sa.Select[Any]:
    # Later revisions follow earlier ones, so that the last of each name is the one that stands.
    return sa.select(DOCUMENTS).where(DOCUMENTS.c.kind == kind).order_by(DOCUMENTS.c.name, DOCUMENTS.c.revision)


def _document(row: sa.Row[Any]) -> Document:
    body = msgspec.json.decode(row.body, type=dict[str, Any])
    return Document(row.kind, row.name, row.revision, body, row.by, row.at_utc_us)


def _insert(connection: sa.Connection, draft: Draft, body: str, shipped: Body | None) -> Document:
    newest = _named(draft.kind, draft.name).order_by(DOCUMENTS.c.revision.desc()).limit(1)
    row = connection.execute(newest).one_or_none()
    current = _document(row) if row is not None else _beneath(draft, shipped)
    _require_current(draft, current)
    revision = 1 if current is None else current.revision + 1
    identity = {"kind": draft.kind, "name": draft.name, "revision": revision}
    connection.execute(sa.insert(DOCUMENTS).values(**identity, by=draft.by, at_utc_us=draft.at_utc_us, body=body))
    return Document(draft.kind, draft.name, revision, draft.body, draft.by, draft.at_utc_us)


def _beneath(draft: Draft, shipped: Body | None) -> Document | None:
    return None if shipped is None else Document(draft.kind, draft.name, SHIPPED_REVISION, shipped)


def _require_current(draft: Draft, current: Document | None) -> None:
    """Raise RevisionMissing or RevisionStale unless the draft saw what stands."""
    seen = draft.seen_revision
    found = None if current is None else current.revision
    if seen == found:
        return
    address = f"{draft.kind}/{draft.name}"
    if seen is None:
        raise RevisionMissing(address)
    raise RevisionStale(address, str(seen), "nothing" if found is None else str(found), current.body if current else {})
