"""What the API needs of the console's retunes; the runtime offers it, and tests may stand in for it."""

from __future__ import annotations

from typing import Protocol

from fleet.model.retune import RetuneAsk, RetuneFacts, RetunePreview, RetuneRun, RetuneWanted


class RetuneBook(Protocol):
    """Plans put on the air, and the guided change of one channel. One run goes at a time."""

    async def preview(self, ask: RetuneAsk) -> RetunePreview:
        """What would be done; nothing is sent. Raises NotFound, RevisionStale and JournalUnavailable."""

    async def apply(self, person: str, ask: RetuneAsk) -> RetuneRun:
        """Begin to put a plan on the air. Raises InvalidRequest, NotFound, RevisionStale and JournalUnavailable."""

    async def guide(self, person: str, wanted: RetuneWanted) -> RetuneRun:
        """Begin the guided change of one channel. Raises InvalidRequest, ValueRefused, NotFound, JournalUnavailable."""

    async def roll_back(self, person: str, run_id: str) -> RetuneRun:
        """Begin to take back what a run did. Raises InvalidRequest, NotFound and JournalUnavailable."""

    async def answer(self, run_id: str, code: str, answer: str) -> RetuneRun:
        """Answer what a run asks. Raises InvalidRequest, ValueRefused and NotFound."""

    async def cancel(self, run_id: str) -> RetuneRun:
        """Go no further than the step that is under way. Raises InvalidRequest and NotFound."""

    def runs(self) -> tuple[RetuneFacts, ...]:
        """The last fifty runs, the newest first."""

    async def run(self, run_id: str) -> RetuneRun:
        """One run as it stands. Raises NotFound and JournalUnavailable."""
