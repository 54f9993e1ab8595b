"""Retunes that are only written down: what was asked for, and one run that has ended."""

from __future__ import annotations

from dataclasses import replace

from fleet.errors import NotFound, RedpollError
from fleet.model.retune import RetuneAsk, RetuneFacts, RetunePreview, RetuneRun, RetuneState, RetuneWanted

RUN = RetuneRun(
    run_id="r64",
    guided=False,
    plan="quay",
    plan_revision=1,
    begun_by="Engineer",
    begun_utc_us=1,
    state=RetuneState.STOPPED,
    changed_utc_us=2,
    steps=(),
    items=(),
    reason="step 1: refused",
)
PREVIEW = RetunePreview("quay", 1, (), (), (), 0, True, 3, 0, 0.0, False)


class FakeRetunes:
    """Answers everything with the one run, in another state."""

    def __init__(self) -> None:
        self.asked: list[tuple[object, ...]] = []
        self.fails_with: RedpollError | None = None

    async def preview(self, ask: RetuneAsk) -> RetunePreview:
        self._note("preview", ask)
        return PREVIEW

    async def apply(self, person: str, ask: RetuneAsk) -> RetuneRun:
        self._note("apply", person, ask)
        return replace(RUN, state=RetuneState.RUNNING)

    async def guide(self, person: str, wanted: RetuneWanted) -> RetuneRun:
        self._note("guide", person, wanted)
        return replace(RUN, guided=True, state=RetuneState.ASKING)

    async def roll_back(self, person: str, run_id: str) -> RetuneRun:
        self._note("roll-back", person, self._known(run_id))
        return replace(RUN, state=RetuneState.ROLLING_BACK)

    async def answer(self, run_id: str, code: str, answer: str) -> RetuneRun:
        self._note("answer", self._known(run_id), code, answer)
        return RUN

    async def cancel(self, run_id: str) -> RetuneRun:
        self._note("cancel", self._known(run_id))
        return RUN

    def runs(self) -> tuple[RetuneFacts, ...]:
        older = RetuneFacts("r63", True, "quay", "Engineer", 1, RetuneState.DONE, "", 2, 2)
        return (RetuneFacts("r64", False, "quay", "Engineer", 1, RetuneState.STOPPED, "step 1: refused", 0, 1), older)

    async def run(self, run_id: str) -> RetuneRun:
        self._known(run_id)
        return RUN

    def _note(self, *asked: object) -> None:
        if self.fails_with is not None:
            raise self.fails_with
        self.asked.append(asked)

    @staticmethod
    def _known(run_id: str) -> str:
        if run_id != RUN.run_id:
            raise NotFound("retune", run_id)
        return run_id
