"""The documents that the running console stands on: its rules and its production, with their revisions."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any, TypeVar

import msgspec

from fleet.errors import InvalidDocument, NotFound, ValueRefused
from fleet.journal.documents import Document, Documents, Draft
from fleet.model.production import Production
from fleet.model.rule import Rule
from fleet.pipeline import PRODUCTION, RULES
from fleet.rules.documents import check_rules, shipped_rules

SITE = "site"
START_UP = "start-up"
Fact = TypeVar("Fact")


def shipped_documents() -> Mapping[tuple[str, str], Mapping[str, Any]]:
    """What comes with the software, by kind and name."""
    return {(RULES, SITE): _body_of_rules(shipped_rules())}


class Shelf:
    """Reads and keeps documents as facts. Reading and writing wait for the disk, beside the loop."""

    def __init__(self, documents: Documents) -> None:
        self._documents = documents

    async def rules(self) -> tuple[tuple[Rule, ...], int]:
        """The rules that stand, and their revision; 0 for the shipped ones. Raises InvalidDocument."""
        document = await asyncio.to_thread(self._documents.get, RULES, SITE)
        rules = _fact(document, tuple[Rule, ...], RULES)
        check_rules(rules, RULES)
        return rules, document.revision

    async def put_rules(self, rules: tuple[Rule, ...], seen_revision: int, by: str, at_utc_us: int) -> int:
        """Keep a set of rules and return its revision.

        Raises ValueRefused for a set that can't be evaluated, RevisionStale and JournalUnavailable.
        """
        try:
            check_rules(rules, RULES)
        except InvalidDocument as error:
            rule_id, _, field = error.key.partition(".")
            raise ValueRefused(f"rule/{rule_id}", field, f"must be {error.expected}", {}) from error
        draft = Draft(RULES, SITE, _body_of_rules(rules), seen_revision, by, at_utc_us)
        return (await self._documents.put(draft)).revision

    async def production(self) -> tuple[Production, int] | None:
        """The production that stands and its revision, or None before there was any. Raises InvalidDocument."""
        try:
            document = await asyncio.to_thread(self._documents.get, PRODUCTION, SITE)
        except NotFound:
            return None
        return _fact(document, Production, PRODUCTION), document.revision

    async def adopt_production(self, production: Production, at_utc_us: int) -> int:
        """Make a start-up file's production the one that stands, unless that was done already; return its revision.

        What people changed since stands: only a file that says something else than at the last start replaces it.
        """
        kept = await self._kept(PRODUCTION)
        standing = kept[-1].revision if kept else 0
        from_start_up = [document for document in kept if document.by == START_UP]
        if from_start_up and _fact(from_start_up[-1], Production, PRODUCTION) == production:
            return standing
        return await self.put_production(production, standing, START_UP, at_utc_us)

    async def put_production(self, production: Production, seen_revision: int, by: str, at_utc_us: int) -> int:
        """Keep a production and return its revision; ``seen_revision`` is 0 before there was any.

        Raises RevisionStale, LimitReached above 1 MiB and JournalUnavailable; nothing is kept then.
        """
        body = {PRODUCTION: msgspec.to_builtins(production)}
        draft = Draft(PRODUCTION, SITE, body, seen_revision or None, by, at_utc_us)
        return (await self._documents.put(draft)).revision

    async def production_revisions(self) -> tuple[Document, ...]:
        """Every production that stood, oldest first, without their bodies read."""
        return await self._kept(PRODUCTION)

    async def production_at(self, revision: int) -> Production:
        """The production as it stood at a revision. Raises NotFound and InvalidDocument."""
        document = await asyncio.to_thread(self._documents.get, PRODUCTION, SITE, revision)
        return _fact(document, Production, PRODUCTION)

    async def last_editor(self, kind: str) -> str:
        """Who made what stands of a kind; empty for what is shipped. Raises NotFound and JournalUnavailable."""
        return (await asyncio.to_thread(self._documents.get, kind, SITE)).by

    async def _kept(self, kind: str) -> tuple[Document, ...]:
        return await asyncio.to_thread(self._documents.revisions, kind, SITE)


def _body_of_rules(rules: tuple[Rule, ...]) -> Mapping[str, Any]:
    return {RULES: msgspec.to_builtins(rules)}


def _fact(document: Document, shape: type[Fact], member: str) -> Fact:
    try:
        return msgspec.convert(document.body.get(member), shape)
    except msgspec.ValidationError as error:
        raise InvalidDocument(f"{document.kind}/{document.name}", member, str(error)) from error
