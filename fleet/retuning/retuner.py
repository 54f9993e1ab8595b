"""The door to retuning: previews, runs, and what people ask of a run. One run at a time in the whole fleet."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Coroutine, Iterable
from contextlib import suppress
from dataclasses import replace
from typing import Any

from fleet.clock import Clock
from fleet.errors import InvalidRequest, NotFound, RevisionStale, ValueRefused
from fleet.model.command import CommandState
from fleet.model.moment import Moment
from fleet.model.retune import (
    RetuneAsk,
    RetuneFacts,
    RetunePreview,
    RetuneRun,
    RetuneState,
    RetuneStep,
    RetuneWanted,
    RetuneWrite,
    StepState,
)
from fleet.planning.retuning.course import back_steps, items_of, state_of
from fleet.planning.retuning.preview import Asked, preview
from fleet.planning.retuning.rig import stands_hz
from fleet.retuning.console import Console, PlanBook, is_live, picture_of, settings_of
from fleet.retuning.guide import Guide, in_two
from fleet.retuning.hands import as_it_is
from fleet.retuning.keeping import RunBook
from fleet.retuning.runner import LIVE, Runner
from fleet.retuning.spare import with_spare

FAULT = "the console made a mistake; its log has the particulars"
_LOG = logging.getLogger(__name__)


class Retuner:
    """Owns the one run that is under way, and its task."""

    def __init__(self, console: Console, plans: PlanBook, book: RunBook, clock: Clock) -> None:
        self._console = console
        self._plans = plans
        self._book = book
        self._clock = clock
        self._turn = asyncio.Lock()
        self._runner: Runner | None = None
        self._task: asyncio.Task[None] | None = None

    async def begin(self) -> None:
        """Take in what the journal remembers. Raises JournalUnavailable and InvalidDocument."""
        await self._book.remember()

    async def stop(self) -> None:
        """Give up what is under way; the next start tells that it was interrupted."""
        if self._task is not None:
            self._task.cancel()
            with suppress(asyncio.CancelledError):
                await self._task

    # ------------------------------------------------------------ before anything is sent

    async def preview(self, ask: RetuneAsk) -> RetunePreview:
        """What would be done now; nothing is sent. Raises NotFound, RevisionStale, InvalidDocument."""
        return (await self._previewed(ask))[1]

    async def _previewed(self, ask: RetuneAsk) -> tuple[Asked, RetunePreview]:
        plan, revision = await self._plans.plan(ask.name)
        if ask.revision is not None and ask.revision != revision:
            raise RevisionStale(f"plan/{ask.name}", str(ask.revision), str(revision), {})
        strangers = (ask.channels or frozenset()) - {carrier.channel for carrier in plan.carriers}
        if strangers:
            raise NotFound("channel in the plan", min(strangers))
        asked = Asked(ask.name, plan, revision, ask.may_sleep, ask.channels)
        picture = await picture_of(self._console, self._clock)
        return asked, await asyncio.to_thread(preview, asked, picture.rig, picture.around)

    # ------------------------------------------------------------ runs

    async def apply(self, person: str, ask: RetuneAsk) -> RetuneRun:
        """Begin to put a plan on the air; returns the run once it is durable that it begins.

        Raises InvalidRequest while the show is live, while another run is under way, where nothing can be done, and
        where something must be left out that ``only_what_can`` doesn't allow; NotFound, RevisionStale and
        JournalUnavailable.
        """
        async with self._turn:
            await self._require_quiet()
            if is_live(self._console):
                raise InvalidRequest(LIVE)
            asked, found = await self._previewed(ask)
            _require_something(found, only_what_can=ask.only_what_can)
            run = replace(self._new(person, found), guided=False)
            runner = await self._begin(asked, run, person)
            self._go(runner, runner.apply())
            return self._shown(runner.run)

    async def guide(self, person: str, wanted: RetuneWanted) -> RetuneRun:
        """Begin the guided change of one channel to a verified spare; possible while the show is live.

        Raises InvalidRequest where no spare is verified, where the channel can't be moved, and while another run is
        under way; NotFound, ValueRefused and JournalUnavailable.
        """
        async with self._turn:
            await self._require_quiet()
            plan, revision = await self._plans.plan(wanted.plan)
            picture = await picture_of(self._console, self._clock)
            floor_dbm = picture.floor_dbm(self._console, wanted.channel)
            now_us = self._console.now().utc_us
            chosen = await asyncio.to_thread(with_spare, plan, wanted, picture.rig, floor_dbm, now_us)
            asked = Asked(wanted.plan, chosen.plan, revision, channels=frozenset({wanted.channel}))
            found = await asyncio.to_thread(preview, asked, picture.rig, picture.around)
            _require_something(found, only_what_can=False)
            steps = in_two(found.steps[0])
            _require_pack(steps[0])
            run = replace(self._new(person, found), guided=True, steps=steps)
            runner = await self._begin(asked, run, person)
            self._go(runner, Guide(runner, wanted.channel, chosen.holds_until_utc_us).lead())
            await self._clock.sleep(0)  # So that the answer holds the first question.
            return self._shown(runner.run)

    async def roll_back(self, person: str, run_id: str) -> RetuneRun:
        """Begin to take back what a run did, the last first. Raises NotFound, InvalidRequest and JournalUnavailable."""
        async with self._turn:
            run = await self._settled(await self._book.run(run_id))
            await self._require_quiet()
            if is_live(self._console) and not run.guided:
                raise InvalidRequest(LIVE)
            steps = back_steps(run.steps)
            if not steps:
                raise InvalidRequest(f"nothing of {run_id} was confirmed that could be taken back")
            plan, _ = await self._plans.plan(run.plan, run.plan_revision)
            channels = frozenset(channel for step in run.steps for channel in step.channels)
            asked = Asked(run.plan, plan, run.plan_revision, channels=channels)
            run = replace(run, state=RetuneState.ROLLING_BACK, reason="", steps=(*run.steps, *steps))
            await self._book.keep(run, person)
            runner = Runner(self._console, self._clock, self._book, asked, run, person)
            self._runner = runner
            self._go(runner, runner.roll_back(steps))
            return self._shown(runner.run)

    def _new(self, person: str, found: RetunePreview) -> RetuneRun:
        at: Moment = self._console.now()
        return RetuneRun(
            run_id=f"r{at.utc_us:x}",
            guided=False,
            plan=found.plan,
            plan_revision=found.plan_revision,
            begun_by=person,
            begun_utc_us=at.utc_us,
            state=RetuneState.RUNNING,
            changed_utc_us=at.utc_us,
            steps=found.steps,
            items=(),
            left_out=found.left_out,
        )

    async def _begin(self, asked: Asked, run: RetuneRun, person: str) -> Runner:
        await self._book.begin(run)
        self._runner = Runner(self._console, self._clock, self._book, asked, run, person)
        return self._runner

    def _go(self, runner: Runner, work: Coroutine[Any, Any, None]) -> None:
        name = f"retune {runner.run.run_id}"
        self._task = asyncio.create_task(_supervised(runner, work), name=name)

    async def _require_quiet(self) -> None:
        """Raise InvalidRequest while a run is under way; one that has ended is waited for until it is kept."""
        if self._task is None or self._task.done() or self._runner is None:
            return
        if self._runner.run.state.is_open:
            raise InvalidRequest(f"the retune {self._runner.run.run_id} is under way; one goes at a time")
        await asyncio.wait({self._task})

    # ------------------------------------------------------------ what people ask of one

    async def answer(self, run_id: str, code: str, answer: str) -> RetuneRun:
        """Answer what a run asks now. Raises NotFound, ValueRefused, and InvalidRequest if it asks no such thing."""
        runner = await self._open(run_id)
        prompt = runner.run.prompt
        if prompt is None or prompt.code != code:
            raise InvalidRequest(f"{run_id} doesn't ask that now; look at its prompt")
        if answer not in prompt.answers:
            raise ValueRefused(f"retune/{run_id}", "answer", "is none that is understood", {"enum": prompt.answers})
        runner.answer = answer
        return self._shown(runner.run)

    async def cancel(self, run_id: str) -> RetuneRun:
        """Go no further than the step that is under way. Raises NotFound, and InvalidRequest for one that has ended."""
        runner = await self._open(run_id)
        runner.cancelled = True
        return self._shown(runner.run)

    async def _open(self, run_id: str) -> Runner:
        await self._book.run(run_id)
        runner, task = self._runner, self._task
        if runner is None or runner.run.run_id != run_id or task is None or task.done():
            raise InvalidRequest(f"{run_id} has ended")
        return runner

    # ------------------------------------------------------------ what people see

    def runs(self) -> tuple[RetuneFacts, ...]:
        """The last fifty runs, the newest first."""
        return tuple(_facts(run) for run in self._book.runs())

    async def run(self, run_id: str) -> RetuneRun:
        """One run, with where its ends stand now. Raises NotFound and JournalUnavailable."""
        return self._shown(await self._settled(await self._book.run(run_id)))

    def _shown(self, run: RetuneRun) -> RetuneRun:
        items = items_of(run.steps, run.left_out, self._stands_hz)
        return replace(run, items=items, can_roll_back=not run.state.is_open and bool(back_steps(run.steps)))

    def _stands_hz(self, addresses: Iterable[str]) -> tuple[int, ...]:
        """Where ends stand or may stand now, all together, in order."""
        return tuple(sorted({hz for each in addresses for hz in stands_hz(settings_of(self._console, each))}))

    async def _settled(self, run: RetuneRun) -> RetuneRun:
        """A run that has ended, with what became since of what was unknown."""
        if run.state.is_open:
            return run
        return replace(run, steps=tuple([await self._settled_step(step) for step in run.steps]))

    async def _settled_step(self, step: RetuneStep) -> RetuneStep:
        if step.state is not StepState.UNKNOWN:
            return step
        writes = tuple([await self._settled_write(write) for write in step.writes])
        return replace(step, writes=writes, state=state_of(writes))

    async def _settled_write(self, write: RetuneWrite) -> RetuneWrite:
        if write.state is not CommandState.UNKNOWN:
            return write
        with suppress(NotFound):
            return as_it_is(write, self._console.command(write.command_id))
        return await self._book.as_journalled(write)


async def _supervised(runner: Runner, work: Coroutine[Any, Any, None]) -> None:
    try:
        await work
    except Exception:  # noqa: BLE001 - a defect of ours must end this run alone, and not stay silent.
        _LOG.exception("the retune %s failed", runner.run.run_id)
        await runner.end(RetuneState.STOPPED, FAULT)


def _require_something(found: RetunePreview, *, only_what_can: bool) -> None:
    if found.left_out and not only_what_can:
        first = found.left_out[0]
        more = f", and {len(found.left_out) - 1} more" if len(found.left_out) > 1 else ""
        raise InvalidRequest(f"{first.channels[0]}{more} can't be brought there: {first.reason}")
    if not found.steps:
        raise InvalidRequest("there is nothing to do: all that can be moved stands where the plan wants it")


def _require_pack(step: RetuneStep) -> None:
    if not step.writes:
        raise InvalidRequest("no pack is known on this channel, so that nobody could tell whether it follows")


def _facts(run: RetuneRun) -> RetuneFacts:
    done = sum(step.state is StepState.DONE for step in run.steps)
    return RetuneFacts(
        run_id=run.run_id,
        guided=run.guided,
        plan=run.plan,
        begun_by=run.begun_by,
        begun_utc_us=run.begun_utc_us,
        state=run.state,
        reason=run.reason,
        steps_done=done,
        steps=len(run.steps),
    )
