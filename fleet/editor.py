"""The documents that people edit while the console runs: read and kept on the shelf, then put into the pipeline.

One edit is made at a time, so that a revision is in force before the next one is kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import msgspec

from fleet.edits import Edits, shown_key
from fleet.errors import InvalidDocument, NotFound, RevisionStale, ValueRefused
from fleet.intake import Intake
from fleet.model.document import DocumentRevision
from fleet.model.event import DocumentApplied
from fleet.model.inputs import DocumentChanged
from fleet.model.production import Production
from fleet.model.rule import Rule
from fleet.pipeline import PRODUCTION, RULES
from fleet.shelf import SITE, START_UP, Shelf


class Editor:
    """What stands, and the changes people make to it; each change is durable before it is in force."""

    def __init__(self, shelf: Shelf, intake: Intake) -> None:
        self._shelf = shelf
        self._intake = intake
        self._rules_revision = 0
        self._production_revision = 0
        self._edits = Edits(self._read_again)

    async def begin(self, production: Production | None) -> None:
        """Put what stands in force; a ``production`` replaces the one that stands first. Raises InvalidDocument."""
        rules, revision = await self._shelf.rules()
        if revision:
            self._apply(rules, revision, START_UP)
            self._rules_revision = revision
        if production is not None:
            await self._shelf.adopt_production(production, self._intake.now().utc_us)
        standing = await self._shelf.production()
        if standing is not None:
            self._production_revision = standing[1]
            self._intake.take(DocumentChanged(self._intake.now(), *standing))

    def production(self) -> tuple[Production, int]:
        """The production in force and the revision of its document; 0 before there was any."""
        return self._intake.pipeline.production, self._production_revision

    async def change_production(
        self, person: str, seen_revision: int, change: Callable[[Production], Production]
    ) -> tuple[Production, int]:
        """Put what ``change`` makes of the production in its place, durably; returns it and its revision.

        Raises RevisionStale, ValueRefused where the change raises InvalidDocument or takes the running cue away,
        whatever else the change raises, LimitReached and JournalUnavailable; nothing was changed then.
        """
        async with self._edits.one():
            standing, revision = self.production()
            if seen_revision != revision:
                raise RevisionStale(PRODUCTION, str(seen_revision), str(revision), {"name": standing.name})
            changed = self._changed(standing, change)
            revision = await self._shelf.put_production(changed, revision, person, self._intake.now().utc_us)
            self._apply(changed, revision, person)
            self._production_revision = revision
        await self._intake.settled()
        return changed, revision

    def _changed(self, standing: Production, change: Callable[[Production], Production]) -> Production:
        try:
            changed = change(standing)
        except InvalidDocument as error:
            raise ValueRefused(PRODUCTION, shown_key(error.key), f"must be {error.expected}", {}) from error
        running = self._intake.pipeline.ahead().show.cue_id
        if running is not None and changed.order.index_of(running) is None:
            raise ValueRefused(PRODUCTION, f"cue {running}", "is running; reset the show clock before it goes", {})
        return changed

    async def production_revisions(self) -> tuple[DocumentRevision, ...]:
        """Every revision of the production, newest first. Raises JournalUnavailable."""
        kept = await self._shelf.production_revisions()
        return tuple(DocumentRevision(one.revision, one.by, one.at_utc_us) for one in reversed(kept))

    async def production_at(self, revision: int) -> Production:
        """The production as it stood at a revision. Raises NotFound and JournalUnavailable."""
        return await self._shelf.production_at(revision)

    def rules(self) -> tuple[tuple[Rule, ...], int]:
        """The rules in force and the revision of their document."""
        return self._intake.pipeline.rules(), self._rules_revision

    async def change_rule(self, person: str, rule: Rule, seen_revision: int) -> int:
        """Put a rule in the place of the one with its id, durably, and return the new revision of the rules.

        Raises NotFound, RevisionStale, ValueRefused and JournalUnavailable; nothing was changed then.
        """
        async with self._edits.one():
            rules, revision = self.rules()
            if seen_revision != revision:
                standing = {RULES: msgspec.to_builtins(rules)}
                raise RevisionStale(f"{RULES}/{SITE}", str(seen_revision), str(revision), standing)
            if all(known.rule_id != rule.rule_id for known in rules):
                raise NotFound("rule", rule.rule_id)
            changed = tuple(rule if known.rule_id == rule.rule_id else known for known in rules)
            at_utc_us = self._intake.now().utc_us
            revision = await self._shelf.put_rules(changed, seen_revision, person, at_utc_us)
            self._apply(changed, revision, person)
            self._rules_revision = revision
        await self._intake.settled()
        return revision

    async def _read_again(self) -> None:
        """Put what stands on the disk in force, where an edit that was called failed was kept after all."""
        rules, revision = await self._shelf.rules()
        if revision != self._rules_revision:
            self._apply(rules, revision, await self._shelf.last_editor(RULES))
            self._rules_revision = revision
        standing = await self._shelf.production()
        if standing is not None and standing[1] != self._production_revision:
            self._apply(*standing, await self._shelf.last_editor(PRODUCTION))
            self._production_revision = standing[1]

    def _apply(self, document: Production | tuple[Rule, ...], revision: int, by: str) -> None:
        """Put a document into the pipeline; the event names who did it."""
        events = self._intake.pipeline.step(DocumentChanged(self._intake.now(), document, revision))
        self._intake.record(
            *(replace(event, by=by) if isinstance(event, DocumentApplied) else event for event in events)
        )
