"""Documents kept in memory, one plan among them, and jobs that are done in place when a test ends them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fleet.errors import InvalidRequest, NotFound, RedpollError, RevisionMissing, RevisionStale
from fleet.job_works import WORKS
from fleet.jobs import Asked, Ended, Keep
from fleet.journal.documents import Document, Draft
from fleet.model.job import BestSoFar, Job, JobState

REQUEST: dict[str, Any] = {
    "raster_hz": 25_000,
    "window": [{"start_hz": 470_000_000, "stop_hz": 478_000_000}],
    "profile": [
        {
            "name": "analog",
            "spacing_hz": 400_000,
            "third_two_signal_hz": 100_000,
            "third_three_signal_hz": 100_000,
        }
    ],
    "group": [{"name": "House", "zone": "House", "profile": "analog", "count": 4}],
}
PLAN: dict[str, Any] = {
    "title": "The Lamp at Tern Rock",
    "request": REQUEST,
    "carriers": [
        {"group": "House", "zone": "House", "frequency_hz": 470_000_000, "channel": "house-1/channel/1"},
        {"group": "House", "zone": "House", "frequency_hz": 470_500_000, "locked": True},
        {"group": "House", "zone": "House", "frequency_hz": 471_500_000},
    ],
}


class FakeDocuments:
    """Every revision in memory; a plan named quay is there from the beginning."""

    def __init__(self) -> None:
        self.kept: list[Document] = [Document("plan", "quay", 1, PLAN, "Engineer", 7)]

    def get(self, kind: str, name: str, revision: int | None = None) -> Document:
        found = [each for each in self.revisions(kind, name) if revision in {None, each.revision}]
        if not found:
            raise NotFound(kind, name)
        return found[-1]

    def all_of(self, kind: str) -> tuple[Document, ...]:
        return tuple({each.name: each for each in self.kept if each.kind == kind}.values())

    def revisions(self, kind: str, name: str) -> tuple[Document, ...]:
        return tuple(each for each in self.kept if (each.kind, each.name) == (kind, name))

    async def put(self, draft: Draft) -> Document:
        known = self.revisions(draft.kind, draft.name)
        current = known[-1].revision if known else None
        if current is not None and draft.seen_revision is None:
            raise RevisionMissing(f"{draft.kind}/{draft.name}")
        if draft.seen_revision != current:
            body = known[-1].body if known else {}
            raise RevisionStale(f"{draft.kind}/{draft.name}", str(draft.seen_revision), str(current), body)
        made = Document(draft.kind, draft.name, (current or 0) + 1, draft.body, draft.by, draft.at_utc_us)
        self.kept.append(made)
        return made


class FakeLine:
    """Lets the work go on for three steps."""

    def __init__(self) -> None:
        self.asked = 0

    @property
    def stopped(self) -> bool:
        self.asked += 1
        return self.asked > 3

    def now_s(self) -> float:
        return 0.0

    def tell(self, progress: float, words: str, best: BestSoFar | None) -> None:
        """Nobody listens."""


class FakeJobs:
    """Jobs that run only when they are stopped, and reckonings that are done in place."""

    def __init__(self) -> None:
        self.known: dict[str, tuple[Job, Asked, Keep]] = {}
        self.fails_with: RedpollError | None = None

    def start(self, asked: Asked, keep: Keep) -> Job:
        if self.fails_with is not None:
            raise self.fails_with
        if any(job.subject == asked.subject and not job.is_over for job, _, _ in self.known.values()):
            raise InvalidRequest("a job for this is under way")
        job_id = f"{len(self.known) + 1:x}"
        job = Job(job_id, asked.work, asked.subject, asked.person, JobState.RUNNING, 0.0, "begins", 0.0)
        self.known[job_id] = (job, asked, keep)
        return job

    def all(self) -> tuple[Job, ...]:
        return tuple(job for job, _, _ in reversed(self.known.values()))

    def job(self, job_id: str) -> Job:
        if job_id not in self.known:
            raise NotFound("job", job_id)
        return self.known[job_id][0]

    async def stop(self, job_id: str) -> Job:
        if self.job(job_id).is_over:
            return self.job(job_id)
        job, asked, keep = self.known[job_id]
        done = WORKS[asked.work](asked.arguments, FakeLine())
        assert done.best is not None
        kept = await keep(Ended(done.best, 0.5, done.result))
        words = kept.words or done.words
        job = replace(job, state=JobState.STOPPED, words=words, best=done.best, revision=kept.revision)
        self.known[job_id] = (job, asked, keep)
        return job

    async def reckon(self, work: str, arguments: Mapping[str, Any]) -> Mapping[str, Any]:
        if self.fails_with is not None:
            raise self.fails_with
        return WORKS[work](arguments, FakeLine()).result
