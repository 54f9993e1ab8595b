"""Runs that are kept: what a restart finds of them, however many steps they had, and what a failing disk leaves."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import msgspec
import pytest

from fleet.errors import JournalUnavailable, LimitReached, NotFound
from fleet.journal.documents import Document, Draft
from fleet.model.command import Command, CommandState
from fleet.model.event import Event, Recorded
from fleet.model.moment import Moment
from fleet.model.retune import RetuneRun, RetuneState, RetuneStep, RetuneWrite, StepKind, StepState
from fleet.retuning.keeping import EVENTS_A_PAGE, RUNS_AT_HAND, STEPS_KEPT_MAXIMUM, RunBook
from tests.journal.samples import COMMAND

AT = Moment(1, 1_900_000_000_000_000)


class Disk:
    """Keeps documents and events in memory, as the journal would on a disk; ``fails`` turns it into one that can't."""

    def __init__(self) -> None:
        self.documents: dict[str, list[dict[str, Any]]] = {}
        self.events: list[Recorded] = []
        self.commands: dict[str, Command] = {}
        self.fails = False

    def get(self, kind: str, name: str, revision: int | None = None) -> Document:
        if name not in self.documents:
            raise NotFound(kind, name)
        kept = self.documents[name]
        return Document(kind, name, revision or len(kept), kept[-1])

    async def put(self, draft: Draft) -> Document:
        if self.fails:
            raise JournalUnavailable("full")
        kept = self.documents.setdefault(draft.name, [])
        assert draft.seen_revision == (len(kept) or None), "each revision follows the one that stands"
        kept.append(msgspec.json.decode(msgspec.json.encode(draft.body)))
        return Document(draft.kind, draft.name, len(kept), draft.body)

    def newest(
        self, before: int | None = None, limit: int = 100, *, kind: str | None = None, address: str | None = None
    ) -> tuple[Recorded, ...]:
        assert (kind, address) == ("retune changed", None)
        older = [each for each in reversed(self.events) if before is None or each.sequence < before]
        return tuple(older[:limit])

    def command(self, command_id: str) -> Command:
        if command_id not in self.commands:
            raise NotFound("command", command_id)
        return self.commands[command_id]

    def now(self) -> Moment:
        return AT

    async def note(self, event: Event) -> None:
        self.events.append(Recorded(len(self.events) + 1, event))

    def book(self) -> RunBook:
        return RunBook(self, self, self)


def step(number: int, state: StepState = StepState.PLANNED) -> RetuneStep:
    link = f"house-{number}/carrier/1"
    ids = [f"r1-{number}-{place}" for place in (1, 2)] if state is StepState.RUNNING else ["", ""]
    writes = tuple(
        RetuneWrite(address, {"frequency_hz": 2}, {"frequency_hz": 1}, name)
        for address, name in zip((f"pack/{number}", link), ids, strict=True)
    )
    return RetuneStep(number, StepKind.MOVE, link, (f"house-{number}/channel/1",), (1,), 2, writes, state=state)


def run(steps: int, run_id: str = "r1", state: RetuneState = RetuneState.RUNNING) -> RetuneRun:
    planned = tuple(step(number) for number in range(1, steps + 1))
    return RetuneRun(run_id, False, "tonight", 1, "Engineer", AT.utc_us, state, AT.utc_us, planned, ())


async def test_a_long_run_that_was_cut_off_is_remembered_whole_with_what_became_of_its_last_commands() -> None:
    disk = Disk()
    book = disk.book()
    whole = run(EVENTS_A_PAGE)
    await book.begin(whole)
    for number in range(1, EVENTS_A_PAGE):
        await book.tell(whole, "Engineer", step(number, StepState.RUNNING))
        await book.tell(whole, "Engineer", step(number, StepState.DONE))
    await book.tell(whole, "Engineer", step(EVENTS_A_PAGE, StepState.RUNNING))
    disk.commands[f"r1-{EVENTS_A_PAGE}-1"] = replace(COMMAND, state=CommandState.UNKNOWN, outcomes=())
    assert len(disk.events) > 2 * EVENTS_A_PAGE - 1, "more than one page of the journal"

    again = disk.book()
    await again.remember()
    (found,) = again.runs()
    assert found.state is RetuneState.INTERRUPTED
    assert {each.state for each in found.steps[:-1]} == {StepState.DONE}
    pack, carrier = found.steps[-1].writes
    assert (found.steps[-1].state, pack.state) == (StepState.UNKNOWN, CommandState.UNKNOWN)
    assert (carrier.command_id, carrier.state, carrier.reason) == ("", None, "it was never asked for")
    assert disk.documents["r1"][-1]["state"] == "interrupted", "and kept so, before anybody asks"

    third = disk.book()
    await third.remember()
    assert third.runs() == again.runs(), "what was told once is not told again"
    assert len(disk.documents["r1"]) == 2


async def test_fifty_runs_are_at_hand_and_an_older_one_is_read() -> None:
    disk = Disk()
    book = disk.book()
    for number in range(RUNS_AT_HAND + 2):
        await book.begin(run(1, f"r{number:03}", RetuneState.DONE))
    assert [each.run_id for each in book.runs()][:2] == ["r051", "r050"]
    assert len(book.runs()) == RUNS_AT_HAND
    assert (await book.run("r000")).run_id == "r000"
    again = disk.book()
    await again.remember()
    assert [each.run_id for each in again.runs()] == [each.run_id for each in book.runs()]
    with pytest.raises(NotFound):
        await book.run("r999")


async def test_a_disk_that_fails_lets_no_run_begin_and_loses_none_that_is_under_way() -> None:
    disk = Disk()
    book = disk.book()
    begun = run(1)
    await book.begin(begun)
    disk.fails = True
    with pytest.raises(JournalUnavailable):
        await book.begin(run(1, "r2"))
    await book.keep(replace(begun, state=RetuneState.STOPPED), "Engineer")
    assert (await book.run("r1")).state is RetuneState.STOPPED, "it stands in memory"
    assert disk.events[-1].event.kind == "retune changed"


async def test_a_run_has_a_bound_and_a_document_that_can_t_be_read_hinders_no_start() -> None:
    disk = Disk()
    book = disk.book()
    with pytest.raises(LimitReached):
        await book.begin(run(STEPS_KEPT_MAXIMUM + 1))
    await book.begin(run(1))
    disk.documents["r1"] = [{"of": "another age"}]
    again = disk.book()
    await again.remember()
    assert again.runs() == ()
