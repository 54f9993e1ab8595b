"""The guided change of one channel, led through its table: what it asks is answered by the person, the rest it does."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field, replace

from fleet.model.address import Place, parse_address
from fleet.model.retune import RetuneState, RetuneStep, StepKind, StepState
from fleet.planning.retuning.course import back_steps
from fleet.planning.retuning.guided import ENDS, PROMPTS, Happening, Stage, next_stage
from fleet.retuning.runner import Runner

_OF_STATE = {
    StepState.DONE: Happening.CONFIRMED,
    StepState.UNKNOWN: Happening.UNKNOWN,
    StepState.FAILED: Happening.REFUSED,
}

LOOK_IS_OLD = "nothing was sent: the last look at the spare is older than ten minutes by now; look again"


def in_two(step: RetuneStep) -> tuple[RetuneStep, RetuneStep]:
    """A step as one of the packs and one of the receivers: no receiver leaves a pack that didn't follow."""
    packs = tuple(write for write in step.writes if parse_address(write.address).place is Place.PACK)
    carriers = tuple(write for write in step.writes if write not in packs)
    return replace(step, number=1, writes=packs), replace(step, number=2, writes=carriers, by_hand=False)


@dataclass
class Guide:
    """Leads one runner, whose run has one step of packs and one of receivers, from stage to stage.

    ``holds_until_utc_us`` is until when the last look at the spare counts.
    """

    runner: Runner
    channel: str
    holds_until_utc_us: int
    stage: Stage = Stage.OFF_MIC
    reasons: list[str] = field(default_factory=list)
    _named: str = ""

    async def lead(self) -> None:
        """From the first question to an end."""
        packs = {write.address for write in self.runner.run.steps[0].writes}
        named = self.runner.hands.identity(self.channel)
        self._named = named if named in packs else ""
        while self.stage not in ENDS:
            happening = await self._happening()
            if happening is None:
                return await self._left_alone()
            self.stage = next_stage(self.stage, happening)
        state, left_to_do = ENDS[self.stage]
        reasons = [] if state is RetuneState.DONE else [*self.reasons, left_to_do]
        return await self.runner.end(state, "; ".join(reasons))

    async def _happening(self) -> Happening | None:
        prompt = PROMPTS.get(self.stage)
        if prompt is not None:
            answer = await self.runner.ask(prompt)
            return None if answer is None else Happening(answer)
        does: dict[Stage, Callable[[], Awaitable[Happening]]] = {
            Stage.PACK: self._move_pack,
            Stage.RECEIVER: self._move_receiver,
            Stage.IDENTITY: self._listen_for_it,
            Stage.BACK: self._go_back,
        }
        return await does[self.stage]()

    async def _move_pack(self) -> Happening:
        if self.runner.console.now().utc_us > self.holds_until_utc_us:
            self.reasons.append(LOOK_IS_OLD)
            return Happening.REFUSED
        return await self._take(self.runner.run.steps[0])

    async def _move_receiver(self) -> Happening:
        return await self._take(self.runner.run.steps[1])

    async def _take(self, step: RetuneStep) -> Happening:
        is_back = step.kind is StepKind.BACK  # Whatever became of the pack, both ends are wanted back.
        done = await self.runner.take(step, listening=False, whatever_stands=is_back)
        if done.reason:
            self.reasons.append(done.reason)
        return _OF_STATE[done.state]

    async def _listen_for_it(self) -> Happening:
        if not self._named:
            return Happening.NOT_TOLD
        if await self.runner.hands.heard(self.channel, self._named):
            return Happening.NAMED
        self.reasons.append(f"{self._named} was not heard within three seconds")
        return Happening.NOT_NAMED

    async def _go_back(self) -> Happening:
        """Both ends back; what can't be taken back leaves it unknown, and nothing is sent twice."""
        steps = back_steps(self.runner.run.steps)
        self.runner.run = replace(self.runner.run, steps=(*self.runner.run.steps, *steps))
        happenings = [await self._take(step) for step in steps]
        return next((each for each in happenings if each is not Happening.CONFIRMED), Happening.CONFIRMED)

    async def _left_alone(self) -> None:
        """Nobody answered, or it was cancelled: before anything moved that is all, after that it must be told."""
        why = self.runner.why_no_answer()
        if self.stage in {Stage.OFF_MIC, Stage.DESK_MUTED}:
            return await self.runner.end(RetuneState.CANCELLED, why)
        return await self.runner.end(RetuneState.STOPPED, f"{why} while it was asked: {self.stage.value}")
