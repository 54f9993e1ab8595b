"""An edit that was called failed and is kept after all: the next edit neither loses it nor is locked out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from fleet.errors import JournalUnavailable, RevisionStale
from fleet.journal.writer import InlineWriter
from fleet.model.device_list import ListEdit
from fleet.model.event import DocumentApplied
from fleet.model.production import Production
from tests.console import Started, started
from tests.test_roster import QUAY, around
from tests.virtual_time import run_virtual

MORE = replace(QUAY, device_id="harbour-9", url="ws://127.0.0.1:20010/")
LAST = replace(QUAY, device_id="tower-9", url="ws://127.0.0.1:20011/")
Work = Callable[[sa.Connection], Any]


class Disk:
    """A disk that answers one write too late: what it was given is kept at once, or before the next write."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.late = self.later = False
        self._waiting: list[Work] = []
        monkeypatch.setattr(InlineWriter, "run", self._run_of(InlineWriter.run))

    def _run_of(self, run: Callable[[InlineWriter, Work], Any]) -> Callable[[InlineWriter, Work], Any]:
        async def late(writer: InlineWriter, work: Work) -> Any:
            if self.later:
                self.later = False
                self._waiting.append(work)
                raise TimeoutError
            while self._waiting:
                await run(writer, self._waiting.pop())
            result = await run(writer, work)
            if self.late:
                self.late = False
                raise TimeoutError
            return result

        return late


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    return Disk(monkeypatch)


@pytest.fixture
def url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'journal.sqlite3'}"


def by(revision: int) -> ListEdit:
    return ListEdit("Keeper", revision)


def applied(console: Started, document: str) -> list[tuple[int | None, str]]:
    events = [entry.event for entry in console.journal() if isinstance(entry.event, DocumentApplied)]
    return [(event.revision, event.by) for event in events if event.document == document]


def test_a_device_that_was_kept_late_is_not_lost_by_the_next_edit(url: str, disk: Disk) -> None:
    async def trial() -> None:
        async with around(url) as console:
            roster = console.runtime.roster
            assert await roster.add(by(0), QUAY) == 1
            disk.late = True
            with pytest.raises(JournalUnavailable):
                await roster.add(by(1), MORE)
            with pytest.raises(RevisionStale, match="2"):
                await roster.add(by(1), LAST)
            assert MORE in roster.listed()[0].devices
            assert "harbour-9" in {device.device_id for device in console.receiver.devices}
            assert await roster.add(by(2), LAST) == 3
            assert roster.listed()[0].devices == (QUAY, MORE, LAST)
            assert applied(console, "devices")[-2:] == [(2, "Keeper"), (3, "Keeper")]

    run_virtual(trial())


def test_a_device_that_is_kept_only_before_the_next_edit_is_not_lost_either(url: str, disk: Disk) -> None:
    async def trial() -> None:
        async with around(url) as console:
            roster = console.runtime.roster
            assert await roster.add(by(0), QUAY) == 1
            disk.later = True
            with pytest.raises(JournalUnavailable):
                await roster.add(by(1), MORE)
            with pytest.raises(RevisionStale):
                await roster.add(by(1), LAST)
            assert await roster.add(by(2), LAST) == 3
            assert roster.listed()[0].devices == (QUAY, MORE, LAST)

    run_virtual(trial())


def test_a_list_made_for_a_revision_that_is_not_in_force_is_refused(url: str) -> None:
    async def trial() -> None:
        async with around(url) as console:
            roster = console.runtime.roster
            assert await roster.add(by(0), QUAY) == 1
            with pytest.raises(RevisionStale):
                await roster.add(by(2), MORE)
            assert await roster.add(by(1), MORE) == 2

    run_virtual(trial())


@pytest.mark.parametrize("when", ["late", "later"])
def test_a_production_that_was_kept_late_locks_nobody_out(url: str, disk: Disk, when: str) -> None:
    def named(name: str) -> Callable[[Production], Production]:
        return lambda production: replace(production, name=name)

    async def trial() -> None:
        async with started(url) as console:
            editor = console.runtime.editor
            _, first = await editor.change_production("Engineer", editor.production()[1], named("first"))
            setattr(disk, when, True)
            with pytest.raises(JournalUnavailable):
                await editor.change_production("Late", first, named("late"))
            with pytest.raises(RevisionStale):
                await editor.change_production("Engineer", first, named("retry"))
            changed, revision = await editor.change_production("Engineer", first + 1, lambda production: production)
            assert (changed.name, revision) == ("late", first + 2)
            assert applied(console, "production")[-2:] == [(first + 1, "Late"), (first + 2, "Engineer")]

    run_virtual(trial())


@pytest.mark.parametrize("when", ["late", "later"])
def test_a_rule_that_was_kept_late_is_not_lost_by_the_next_edit(url: str, disk: Disk, when: str) -> None:
    async def trial() -> None:
        async with started(url) as console:
            editor = console.runtime.editor
            weak = next(rule for rule in editor.rules()[0] if rule.rule_id == "weak-rf")
            other = next(rule for rule in editor.rules()[0] if rule.rule_id != "weak-rf")
            setattr(disk, when, True)
            with pytest.raises(JournalUnavailable):
                await editor.change_rule("Late", replace(weak, limit=12.0), 0)
            with pytest.raises(RevisionStale):
                await editor.change_rule("Engineer", other, 0)
            assert await editor.change_rule("Engineer", other, 1) == 2
            assert replace(weak, limit=12.0) in editor.rules()[0]
            assert applied(console, "rules")[-2:] == [(1, "Late"), (2, "Engineer")]

    run_virtual(trial())
