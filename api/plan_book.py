"""What the API needs of the console's plans and jobs; the runtime offers both, and tests may stand in for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from fleet.model.document import DocumentRevision
from fleet.model.forecast import Forecast
from fleet.model.job import Job
from fleet.model.plan import Near, Plan, PlanFacts, PlanProduct, PlanVerdict, ProductField, Search


class PlanBook(Protocol):
    """The frequency plans. Each call waits for the disk and raises JournalUnavailable; most raise NotFound."""

    async def all(self) -> tuple[PlanFacts, ...]:
        """Every plan as it stands."""

    async def plan(self, name: str, revision: int | None = None) -> tuple[Plan, int]:
        """A plan as it stands, or as it stood, and its revision."""

    async def revisions(self, name: str) -> tuple[DocumentRevision, ...]:
        """Every revision of a plan, newest first."""

    async def put(self, person: str, name: str, values: Mapping[str, Any], seen: int | None) -> tuple[Plan, int]:
        """Put a plan in place, durably; ``seen`` is None for a new one.

        Raises ValueRefused, RevisionMissing, RevisionStale, LimitReached and InvalidRequest.
        """

    async def find(self, person: str, name: str, asked: Search) -> Job:
        """Begin a search. Raises LimitReached and InvalidRequest."""

    async def look_at_spares(self, person: str, name: str, scan_ids: Sequence[str]) -> tuple[Plan, int]:
        """Rank a plan's spares anew by what kept scans heard on them. Raises RevisionStale and NotFound."""

    async def check(self, name: str) -> PlanVerdict:
        """How a plan stands against its request. Raises LimitReached and InvalidRequest, as those below."""

    async def field(self, name: str, zone: str | None) -> ProductField:
        """How many products of a plan fall where."""

    async def products(self, name: str, near: Near) -> tuple[PlanProduct, ...]:
        """The products near a frequency, the worst first. Raises ValueRefused as well."""

    async def what_if(self, name: str, asked: Mapping[str, Any]) -> Forecast:
        """What changes would do to a plan's carriers. Raises ValueRefused as well."""


class JobBook(Protocol):
    """The jobs. Nothing of it is on the disk."""

    def all(self) -> tuple[Job, ...]:
        """Every job that is known, the newest first."""

    def job(self, job_id: str) -> Job:
        """One job as it stands. Raises NotFound."""

    async def stop(self, job_id: str) -> Job:
        """End a job with the best it has. Raises NotFound."""
