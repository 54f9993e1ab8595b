"""One run under way: its steps one after the other, each looked at before and after, and what may stop it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.model.command import CommandState
from fleet.model.retune import RetunePrompt, RetuneRun, RetuneState, RetuneStep, RetuneWrite, StepState
from fleet.planning.retuning.course import state_of
from fleet.planning.retuning.guard import obstacle
from fleet.planning.retuning.preview import UNSEEN, Asked
from fleet.retuning.console import Console, is_live, picture_of
from fleet.retuning.hands import LOOK_EVERY_S, Hands
from fleet.retuning.keeping import RunBook

ASK_WITHIN_S = 600.0
"""How long a question waits for its answer; beyond that nothing more is done."""
LIVE = "the show is live; only the guided change of one channel is possible now"
CANCELLED = "cancelled"
NOBODY_ANSWERED = "nobody answered within ten minutes"
STILL_UNKNOWN = "what became of the change is unknown; look on both frequencies, or close its command, first"
SET_BY_HAND = "set-by-hand"
Answered = str | None


@dataclass
class Runner:
    """A run, and whatever people want of it meanwhile."""

    console: Console
    clock: Clock
    book: RunBook
    asked: Asked
    run: RetuneRun
    person: str
    cancelled: bool = False
    answer: str = ""
    _asleep: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        for step in self.run.steps:
            if step.state is StepState.DONE:
                self._remember_sleep(step)

    @property
    def hands(self) -> Hands:
        """Writes in the name of whoever asked."""
        return Hands(self.console, self.clock, self.person)

    # ------------------------------------------------------------ a plan

    async def apply(self) -> None:
        """Put the plan on the air, step by step; the first step that doesn't come to its end stops it."""
        for step in self.run.steps:
            if self._is_cancelled():
                return await self.end(RetuneState.CANCELLED, CANCELLED)
            if is_live(self.console):
                return await self.end(RetuneState.STOPPED, LIVE)
            done = await self.take(step)
            if done.state is not StepState.DONE:
                ended = RetuneState.CANCELLED if self._is_cancelled() else RetuneState.STOPPED
                return await self.end(ended, f"step {done.number}: {done.reason}")
        return await self.end(RetuneState.DONE, "")

    async def roll_back(self, steps: tuple[RetuneStep, ...]) -> None:
        """Take back what was done, the last first; what can't be taken back is told and the rest goes on."""
        failed = 0
        for step in steps:
            if self._is_cancelled():
                return await self.end(RetuneState.PARTLY_BACK, CANCELLED)
            done = await self.take(step)
            failed += done.state is not StepState.DONE
        if failed:
            return await self.end(RetuneState.PARTLY_BACK, f"{failed} of {len(steps)} steps could not be taken back")
        return await self.end(RetuneState.ROLLED_BACK, "")

    def _is_cancelled(self) -> bool:
        return self.cancelled  # Asked anew each time: it turns while a step is under way.

    async def end(self, state: RetuneState, reason: str) -> None:
        """Have the run come to an end, and keep it."""
        self.run = replace(self.run, state=state, reason=reason, prompt=None, changed_utc_us=self._now_utc_us())
        await self.book.keep(self.run, self.person)

    # ------------------------------------------------------------ one step

    async def take(self, step: RetuneStep, *, listening: bool = True, whatever_stands: bool = False) -> RetuneStep:
        """Do one step; returns it as it ended.

        ``listening`` waits until the receiver names its pack again; ``whatever_stands`` goes on although somebody set
        an end otherwise meanwhile.
        """
        problem = await self._problem(step, whatever_stands=whatever_stands)
        if problem:
            return await self._put(replace(step, state=StepState.FAILED, reason=problem))
        heard = {channel: self.hands.identity(channel) for channel in step.channels}
        step = await self._put(replace(step, state=StepState.RUNNING, writes=self._numbered(step)))
        if UNSEEN in step.cautions:
            refused = await self._set_by_hand(step)
            if refused:
                return await self._put(replace(step, state=StepState.FAILED, reason=refused))
        step = await self._write_all(step)
        if step.state is StepState.DONE:
            step = replace(step, heard=await self._heard(step, heard) if listening else None)
            self._remember_sleep(step)
        return await self._put(step)

    async def _problem(self, step: RetuneStep, *, whatever_stands: bool) -> str:
        if any(self._is_unknown(write.takes_back) for write in step.writes):
            return STILL_UNKNOWN
        surprise = next(filter(None, map(self.hands.surprise, step.writes)), "")
        if surprise and not whatever_stands:
            return surprise
        picture = await picture_of(self.console, self.clock)
        asleep = frozenset(self._asleep)
        return await asyncio.to_thread(obstacle, self.asked, picture.rig, picture.around, step, asleep)

    def _is_unknown(self, command_id: str) -> bool:
        """Whether nobody can tell yet what became of an earlier command of this run."""
        writes = (write for step in self.run.steps for write in step.writes)
        return bool(command_id) and any(
            write.command_id == command_id and write.state is CommandState.UNKNOWN for write in writes
        )

    def _numbered(self, step: RetuneStep) -> tuple[RetuneWrite, ...]:
        """The writes with the ids of their commands, which are journalled before anything is sent."""
        ids = (f"{self.run.run_id}-{step.number}-{number}" for number in range(1, len(step.writes) + 1))
        return tuple(replace(write, command_id=name) for write, name in zip(step.writes, ids, strict=True))

    async def _write_all(self, step: RetuneStep) -> RetuneStep:
        """Its writes in their order; after one that isn't confirmed no other is sent."""
        for place, write in enumerate(step.writes):
            done = await self.hands.write(write, self._is_cancelled, self._watcher(step, place))
            step = _with_write(step, place, done)
            if done.state is not CommandState.CONFIRMED:
                step = _without_ids_after(step, place)
                return replace(step, state=state_of(step.writes), reason=f"{done.address}: {_words(done)}")
        return replace(step, state=StepState.DONE, reason="")

    def _watcher(self, step: RetuneStep, place: int) -> Callable[[RetuneWrite], None]:
        return lambda write: self._show(_with_write(step, place, write))

    async def _heard(self, step: RetuneStep, before: Mapping[str, str]) -> bool | None:
        """Whether the receivers that named the packs of a step name them again; None where they named none of them."""
        packs = {write.address for write in step.writes}
        named = {channel: pack for channel, pack in before.items() if pack in packs}
        if step.to_hz is None or not named:
            return None
        return all([await self.hands.heard(channel, pack) for channel, pack in named.items()])

    def _remember_sleep(self, step: RetuneStep) -> None:
        if step.to_hz is None:
            self._asleep.add(step.link_id)
        else:
            self._asleep.discard(step.link_id)

    # ------------------------------------------------------------ people

    async def _set_by_hand(self, step: RetuneStep) -> str:
        words = f"No pack is known on {', '.join(step.channels)}. Set it to {step.to_hz} Hz by hand. Is it done?"
        answer = await self.ask(RetunePrompt(SET_BY_HAND, words, ("yes", "no")))
        return {"yes": "", "no": "the pack was not set by hand", None: self.why_no_answer()}[answer]

    async def ask(self, prompt: RetunePrompt) -> Answered:
        """Ask the person and wait for the answer; None where none came in time, or the run was cancelled."""
        before, self.answer = self.run.state, ""
        self.run = replace(self.run, state=RetuneState.ASKING, prompt=prompt, changed_utc_us=self._now_utc_us())
        self.book.update(self.run)
        await self.book.tell(self.run, self.person)
        until_us = self.clock.monotonic_us() + round(ASK_WITHIN_S * MICROSECONDS_PER_SECOND)
        while not self.answer and not self.cancelled and self.clock.monotonic_us() < until_us:
            await self.clock.sleep(LOOK_EVERY_S)
        answered = {**self.run.answered, prompt.code: self.answer} if self.answer else self.run.answered
        self.run = replace(self.run, state=before, prompt=None, answered=answered)
        self.book.update(self.run)
        return self.answer or None

    def why_no_answer(self) -> str:
        """Why a question was left without an answer, in words."""
        return CANCELLED if self.cancelled else NOBODY_ANSWERED

    # ------------------------------------------------------------ what is shown

    async def _put(self, step: RetuneStep) -> RetuneStep:
        self._show(step)
        await self.book.tell(self.run, self.person, step)
        return step

    def _show(self, step: RetuneStep) -> None:
        steps = tuple(step if each.number == step.number else each for each in self.run.steps)
        self.run = replace(self.run, steps=steps, changed_utc_us=self._now_utc_us())
        self.book.update(self.run)

    def _now_utc_us(self) -> int:
        return self.console.now().utc_us


def _with_write(step: RetuneStep, place: int, write: RetuneWrite) -> RetuneStep:
    return replace(step, writes=(*step.writes[:place], write, *step.writes[place + 1 :]))


def _without_ids_after(step: RetuneStep, place: int) -> RetuneStep:
    """What comes after a write that failed was never asked for."""
    rest = tuple(replace(write, command_id="") for write in step.writes[place + 1 :])
    return replace(step, writes=(*step.writes[: place + 1], *rest))


def _words(write: RetuneWrite) -> str:
    state = "" if write.state is None else write.state.value
    return ": ".join(filter(None, [state, write.reason]))
