"""Where in the running order the evening is: the show clock's place, and the steps that move it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.running_order import Cue


class ShowPhase(StrEnum):
    """Whether the running order counts: before and after it, it says nothing about now."""

    BEFORE = "before"
    RUNNING = "running"
    OVER = "over"


class ShowStep(StrEnum):
    """What moves the show clock."""

    ADVANCE = "advance"
    BACK = "back"
    JUMP = "jump"
    RESET = "reset"


@dataclass(frozen=True, slots=True)
class CueStart:
    """When a cue was begun."""

    cue_id: str
    at: Moment


@dataclass(frozen=True, slots=True)
class ShowPlace:
    """The place in the running order, as of the last step.

    ``zero`` is when second 0 of the running order would have fallen for a show that began on time; ``started`` is the
    current cue, ``previous`` the one before it, so that a step back finds its beginning again. ``revision`` counts the
    steps.
    """

    revision: int = 0
    phase: ShowPhase = ShowPhase.BEFORE
    zero: Moment | None = None
    started: CueStart | None = None
    previous: CueStart | None = None

    @property
    def cue_id(self) -> str | None:
        """The current cue, or None while none runs."""
        return self.started.cue_id if self.started is not None and self.phase is ShowPhase.RUNNING else None


NO_SHOW = ShowPlace()


def current_cue(production: Production, show: ShowPlace) -> Cue | None:
    """The cue that runs, or None when the running order says nothing about now."""
    index = production.order.index_of(show.cue_id)
    return None if index is None else production.order.cues[index]


def on_air_numbers(production: Production, show: ShowPlace) -> frozenset[int]:
    """Who is on air: those of the current cue; where none runs, every row that isn't a spare."""
    cue = current_cue(production, show)
    if cue is not None:
        return frozenset(cue.on_air)
    return frozenset(position.number for position in production.positions if not position.spare)
