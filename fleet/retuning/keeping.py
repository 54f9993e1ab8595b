"""The runs that are kept: the recent ones at hand, all of them as documents, each change of a step as an event."""

from __future__ import annotations

import asyncio
import logging
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import replace
from typing import Protocol

import msgspec

from fleet.errors import InvalidDocument, JournalUnavailable, LimitReached, NotFound, RevisionMissing, RevisionStale
from fleet.journal.documents import Document, Draft
from fleet.model.command import Command
from fleet.model.event import Event, Recorded
from fleet.model.moment import Moment
from fleet.model.retune import RETUNE, RetuneRun, RetuneState, RetuneStep, RetuneWrite, StepState
from fleet.model.retune_event import RetuneChanged
from fleet.planning.retuning.course import state_of
from fleet.retuning.hands import as_it_is

RUNS_AT_HAND = 50
EVENTS_A_PAGE = 1_000
PAGES_MAXIMUM = 20
"""How far back events are read after a start: two of each step, of more steps than a run may have."""
STEPS_KEPT_MAXIMUM = 3_000
INTERRUPTED = "the console stopped while it was under way; nothing goes on by itself"
_LOG = logging.getLogger(__name__)


class Drawer(Protocol):
    """Where documents are kept. Each call waits for the disk and raises JournalUnavailable."""

    def get(self, kind: str, name: str, revision: int | None = None) -> Document:
        """A document as it stands. Raises NotFound."""

    async def put(self, draft: Draft) -> Document:
        """Keep a new revision. Raises RevisionMissing, RevisionStale and LimitReached."""


class Diary(Protocol):
    """The journal, for reading. Each call waits for the disk and raises JournalUnavailable."""

    def newest(
        self, before: int | None = None, limit: int = 100, *, kind: str | None = None, address: str | None = None
    ) -> tuple[Recorded, ...]:
        """Events, newest first."""

    def command(self, command_id: str) -> Command:
        """One command as it last was. Raises NotFound."""


class Notes(Protocol):
    """Where it is told what happened."""

    def now(self) -> Moment:
        """The present moment."""

    async def note(self, event: Event) -> None:
        """Journal an event; returns once it is durable or waits for the disk."""


class RunBook:
    """At hand are the last 50 runs; older ones are read when they are asked for."""

    def __init__(self, drawer: Drawer, diary: Diary, notes: Notes) -> None:
        self._drawer = drawer
        self._diary = diary
        self._notes = notes
        self._runs: OrderedDict[str, RetuneRun] = OrderedDict()
        self._revisions: dict[str, int] = {}

    def runs(self) -> tuple[RetuneRun, ...]:
        """The runs at hand, the newest first."""
        return tuple(reversed(self._runs.values()))

    async def run(self, run_id: str) -> RetuneRun:
        """One run. Raises NotFound and JournalUnavailable."""
        found = self._runs.get(run_id)
        return found or _run(await asyncio.to_thread(self._drawer.get, RETUNE, run_id))

    def update(self, run: RetuneRun) -> None:
        """Have a run at hand as it is now."""
        self._runs[run.run_id] = run
        while len(self._runs) > RUNS_AT_HAND:
            gone, _ = self._runs.popitem(last=False)
            self._revisions.pop(gone, None)

    async def begin(self, run: RetuneRun) -> None:
        """Keep a new run, durably, before anything of it is done. Raises JournalUnavailable and LimitReached."""
        if len(run.steps) > STEPS_KEPT_MAXIMUM:
            raise LimitReached("steps of a retune", STEPS_KEPT_MAXIMUM)
        await self._put(run)
        self.update(run)
        await self.tell(run, run.begun_by)

    async def tell(self, run: RetuneRun, by: str, step: RetuneStep | None = None) -> None:
        """Journal that a run took another state, or one of its steps did."""
        code = "" if run.prompt is None else run.prompt.code
        await self._notes.note(RetuneChanged(self._notes.now(), run.run_id, run.state, by, run.reason, code, step))

    async def keep(self, run: RetuneRun, by: str) -> None:
        """Keep a run as it has come to stand; while the disk fails it stands in memory, and in the events."""
        self.update(run)
        try:
            await self._put(run)
        except (JournalUnavailable, LimitReached, RevisionMissing, RevisionStale) as error:
            _LOG.error("the retune %s could not be kept as a document: %s", run.run_id, error)
        await self.tell(run, by)

    async def _put(self, run: RetuneRun) -> None:
        if run.run_id not in self._revisions and run.run_id in self._runs:
            document = await asyncio.to_thread(self._drawer.get, RETUNE, run.run_id)
            self._revisions[run.run_id] = document.revision
        seen = self._revisions.get(run.run_id)
        at_utc_us = self._notes.now().utc_us
        draft = Draft(RETUNE, run.run_id, msgspec.to_builtins(run), seen, run.begun_by, at_utc_us)
        self._revisions[run.run_id] = (await self._drawer.put(draft)).revision

    # ------------------------------------------------------------ after a restart

    async def remember(self) -> None:
        """Take in what the journal remembers; what was under way is told to be interrupted. Raises as it reads."""
        told = await self._told()
        for run_id in reversed(list(told)[:RUNS_AT_HAND]):
            document = await asyncio.to_thread(self._drawer.get, RETUNE, run_id)
            try:
                run = _run(document)
            except InvalidDocument as error:
                _LOG.error("the retune %s can't be read and is left out: %s", run_id, error)
                continue
            self._revisions[run_id] = document.revision
            self.update(run)
            if run.state.is_open:
                await self.keep(await self._interrupted(run, told[run_id]), run.begun_by)

    async def _told(self) -> dict[str, dict[int, RetuneStep]]:
        """The last runs that events tell of, the newest first, each with its steps as they were told last."""
        told: dict[str, dict[int, RetuneStep]] = {}
        before: int | None = None
        for _ in range(PAGES_MAXIMUM):
            page = await asyncio.to_thread(self._diary.newest, before, EVENTS_A_PAGE, kind=RetuneChanged.kind)
            for event in (each.event for each in page if isinstance(each.event, RetuneChanged)):
                steps = told.setdefault(event.run_id, {})
                if event.step is not None:
                    steps.setdefault(event.step.number, event.step)
            if len(page) < EVENTS_A_PAGE or len(told) > RUNS_AT_HAND:
                break
            before = page[-1].sequence
        return told

    async def _interrupted(self, run: RetuneRun, told: Mapping[int, RetuneStep]) -> RetuneRun:
        steps = {step.number: step for step in run.steps} | dict(told)
        looked_up = [await self._looked_up(step) for _, step in sorted(steps.items())]
        reason = f"{run.reason}; {INTERRUPTED}".removeprefix("; ")
        return replace(run, state=RetuneState.INTERRUPTED, reason=reason, prompt=None, steps=tuple(looked_up))

    async def _looked_up(self, step: RetuneStep) -> RetuneStep:
        """A step that was under way, with what the journal knows of its commands."""
        if step.state is not StepState.RUNNING:
            return step
        writes = tuple([await self.as_journalled(write) for write in step.writes])
        return replace(step, writes=writes, state=state_of(writes), reason=INTERRUPTED)

    async def as_journalled(self, write: RetuneWrite) -> RetuneWrite:
        """A write with what the journal knows of its command."""
        try:
            return as_it_is(write, await asyncio.to_thread(self._diary.command, write.command_id))
        except NotFound:
            return replace(write, command_id="", state=None, reason="it was never asked for")


def _run(document: Document) -> RetuneRun:
    try:
        return msgspec.convert(document.body, RetuneRun)
    except msgspec.ValidationError as error:
        raise InvalidDocument(f"{document.kind}/{document.name}", "document", "a retune", str(error)) from error
