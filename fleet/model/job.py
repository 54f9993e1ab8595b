"""A job: long work in a process of its own, as people see it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.plan import PlanCarrier, Relaxation


class JobState(StrEnum):
    """Where a job is. It waits for its turn, runs, and ends in one of three ways.

    ``stopped`` was ended before its time by a person or by the console, ``failed`` could not be done; what was best by
    then is kept in each case.
    """

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class BestSoFar:
    """The best plan that a search has found so far; it never gets worse.

    No plan holds more than ``at_most`` carriers, spares among them, as far as that is known. ``relaxations`` come at
    the end, where not everybody has a place.
    """

    carriers: tuple[PlanCarrier, ...]
    asked: int
    worst_margin_hz: int | None
    steps: int
    spares: tuple[PlanCarrier, ...] = ()
    at_most: int | None = None
    relaxations: tuple[Relaxation, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """One job. ``work`` says what it does, ``subject`` for which document; ``progress`` goes from 0 to 1.

    ``words`` say how far it is, or why it failed. ``seconds`` is how long it has run. ``revision`` is the one that the
    document got of it; None while it runs, and where there was nothing to keep.
    """

    job_id: str
    work: str
    subject: str
    person: str
    state: JobState
    progress: float
    words: str
    seconds: float
    best: BestSoFar | None = None
    revision: int | None = None

    @property
    def is_over(self) -> bool:
        """Whether nothing of it will change any more."""
        return self.state in {JobState.DONE, JobState.STOPPED, JobState.FAILED}
