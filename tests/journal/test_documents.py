"""Every revision kept, a stale one refused, the shipped ones out of reach."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import sqlalchemy as sa

from fleet.errors import JournalUnavailable, LimitReached, NotFound, RevisionMissing, RevisionStale
from fleet.journal import documents as documents_module
from fleet.journal.documents import BODY_BYTES_MAXIMUM, Documents, Draft
from fleet.journal.writer import InlineWriter, JournalWriter

pytestmark = pytest.mark.asyncio

SHIPPED = {("rule", "weak-rf"): {"limit": 15.0}, ("rule", "contact-lost"): {"limit": 5.0}}


@pytest.fixture
def documents(url: str, writer: JournalWriter) -> Iterator[Documents]:
    made = Documents(url, writer, SHIPPED)
    yield made
    made.close()


def draft(seen_revision: int | None, *, kind: str = "production", name: str = "tern-rock", **body: Any) -> Draft:
    return Draft(kind, name, body, seen_revision, by="Engineer", at_utc_us=5)


async def test_each_revision_is_kept(documents: Documents) -> None:
    await documents.put(draft(None, zones=["House"]))
    second = await documents.put(draft(1, zones=["House", "Quay"]))
    assert second.revision == 2
    assert documents.get("production", "tern-rock") == second
    assert documents.get("production", "tern-rock", revision=1).body == {"zones": ["House"]}
    assert [document.revision for document in documents.revisions("production", "tern-rock")] == [1, 2]


async def test_a_stale_revision_is_refused_with_what_stands(documents: Documents) -> None:
    await documents.put(draft(None, zones=["House"]))
    await documents.put(draft(1, zones=["Quay"]))
    with pytest.raises(RevisionStale) as raised:
        await documents.put(draft(1, zones=["Camera"]))
    assert (raised.value.current, raised.value.values) == ("2", {"zones": ["Quay"]})
    assert len(documents.revisions("production", "tern-rock")) == 2


async def test_a_draft_that_saw_nothing_cannot_replace_what_stands(documents: Documents) -> None:
    await documents.put(draft(None, zones=["House"]))
    with pytest.raises(RevisionMissing):
        await documents.put(draft(None, zones=["Quay"]))


async def test_a_draft_that_saw_a_document_cannot_make_it(documents: Documents) -> None:
    with pytest.raises(RevisionStale):
        await documents.put(draft(3, zones=["House"]))


async def test_of_two_at_once_one_wins(documents: Documents) -> None:
    await documents.put(draft(None, zones=["House"]))
    results = await asyncio.gather(*(documents.put(draft(1, zones=[zone])) for zone in "ab"), return_exceptions=True)
    assert sorted(type(result).__name__ for result in results) == ["Document", "RevisionStale"]


async def test_a_shipped_document_stands_beneath_what_people_write(documents: Documents) -> None:
    assert documents.get("rule", "weak-rf").revision == 0
    edited = await documents.put(draft(0, kind="rule", name="weak-rf", limit=12.0))
    assert edited.revision == 1
    assert documents.get("rule", "weak-rf").body == {"limit": 12.0}
    assert documents.get("rule", "weak-rf", revision=0).body == {"limit": 15.0}
    assert [document.revision for document in documents.revisions("rule", "weak-rf")] == [0, 1]


async def test_a_shipped_document_is_not_overwritten_unseen(documents: Documents) -> None:
    with pytest.raises(RevisionMissing):
        await documents.put(draft(None, kind="rule", name="weak-rf", limit=12.0))


async def test_all_of_a_kind_are_listed_as_they_stand(documents: Documents) -> None:
    await documents.put(draft(0, kind="rule", name="weak-rf", limit=12.0))
    await documents.put(draft(1, kind="rule", name="weak-rf", limit=13.0))
    await documents.put(draft(None))
    standing = [(document.name, document.revision, document.body["limit"]) for document in documents.all_of("rule")]
    assert standing == [("contact-lost", 0, 5.0), ("weak-rf", 2, 13.0)]


async def test_what_was_never_written_is_not_found(documents: Documents) -> None:
    with pytest.raises(NotFound):
        documents.get("production", "tern-rock")
    with pytest.raises(NotFound):
        documents.get("rule", "weak-rf", revision=4)


async def test_a_document_beyond_its_bound_is_refused(documents: Documents) -> None:
    with pytest.raises(LimitReached):
        await documents.put(draft(None, words="x" * BODY_BYTES_MAXIMUM))


async def test_a_disk_that_does_not_answer_is_unavailable(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    class Hanging(InlineWriter):
        async def run(self, work: Callable[[sa.Connection], Any]) -> Any:
            del work
            await asyncio.Event().wait()

    monkeypatch.setattr(documents_module, "PUT_WITHIN_S", 0.0)
    hanging = Documents(url, Hanging(url))
    with pytest.raises(JournalUnavailable, match="did not answer"):
        await hanging.put(draft(None))
    hanging.close()
