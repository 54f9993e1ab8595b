"""The show clock: where in the running order the evening is, and what moves it.

A step by hand names the place that was seen, so that two hands never move twice; a trigger names itself, so that it
may be repeated.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass, replace

from fleet.errors import CommandIdReused, LimitReached, NotFound, RevisionStale, ValueRefused
from fleet.model.event import ShowMoved
from fleet.model.inputs import ShowClock
from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.running_order import Cue
from fleet.model.show import NO_SHOW, CueStart, ShowPhase, ShowPlace, ShowStep

TRIGGERS_MAXIMUM = 1_000
TRIGGER_REMEMBERED_US = 600_000_000
"""A trigger's id makes its repeat harmless for ten minutes, as a command's does."""
SHOW = "show"
CLOCK = "the show clock"
_US = 1_000_000


@dataclass(frozen=True, slots=True)
class _Trigger:
    step: ShowStep
    cue_id: str | None
    at_us: int


class ShowClockBook:
    """The place in the running order, and the triggers of the last ten minutes: at most 1,000."""

    def __init__(self) -> None:
        self.place = NO_SHOW
        self._triggers: OrderedDict[str, _Trigger] = OrderedDict()

    def restore(self, at: Moment, moves: Iterable[ShowMoved]) -> None:
        """Take in the last moves that the journal remembers, oldest first; nothing of it is an event."""
        for move in moves:
            self.place = _brought_to(at, move.show)
            age_us = _age_us(at, move.at)
            if move.trigger_id and age_us <= TRIGGER_REMEMBERED_US:
                trigger = _Trigger(move.step, move.asked_cue, at.monotonic_us - age_us)
                self._triggers[move.trigger_id] = trigger

    def move(self, asked: ShowClock, production: Production) -> tuple[ShowMoved, ...]:
        """Move the clock; a trigger that is known does nothing.

        Raises RevisionStale, CommandIdReused, LimitReached, NotFound for a cue that isn't there, and ValueRefused for
        a step that can't be taken from here; nothing was changed then.
        """
        if asked.seen_revision is not None and asked.seen_revision != self.place.revision:
            seen, current = str(asked.seen_revision), str(self.place.revision)
            raise RevisionStale(SHOW, seen, current, {"cue_id": self.place.cue_id, "phase": self.place.phase.value})
        if asked.trigger_id and self._is_known(asked):
            return ()
        place = replace(_moved(self.place, asked, production), revision=self.place.revision + 1)
        if asked.trigger_id:
            trigger = _Trigger(asked.step, asked.cue_id, asked.at.monotonic_us)
            self._triggers[asked.trigger_id] = trigger
        return self._to(asked, place)

    def document_changed(self, at: Moment, production: Production) -> tuple[ShowMoved, ...]:
        """Another production is in place: a cue that it doesn't have can't go on running."""
        started = self.place.started
        if started is None or production.order.index_of(started.cue_id) is not None:
            return ()
        place = ShowPlace(revision=self.place.revision + 1)
        return self._to(ShowClock(at, CLOCK, ShowStep.RESET), place)

    def place_again(self, at: Moment) -> tuple[ShowMoved, ...]:
        """The place as it is, for a journal that may have lost the move that led there; nothing where none did."""
        if self.place is NO_SHOW:
            return ()
        step = ShowStep.JUMP if self.place.cue_id is not None else ShowStep.RESET
        return (ShowMoved(at, self.place, step, CLOCK, self.place.cue_id),)

    def _to(self, asked: ShowClock, place: ShowPlace) -> tuple[ShowMoved, ...]:
        self.place = place
        return (ShowMoved(asked.at, place, asked.step, asked.by, asked.cue_id, asked.trigger_id),)

    def _is_known(self, asked: ShowClock) -> bool:
        """Whether that very trigger came within ten minutes."""
        oldest_us = asked.at.monotonic_us - TRIGGER_REMEMBERED_US
        while self._triggers and next(iter(self._triggers.values())).at_us < oldest_us:
            self._triggers.popitem(last=False)
        known = self._triggers.get(asked.trigger_id)
        if known is None:
            if len(self._triggers) >= TRIGGERS_MAXIMUM:
                raise LimitReached("triggers of the show clock in ten minutes", TRIGGERS_MAXIMUM)
            return False
        if (known.step, known.cue_id) != (asked.step, asked.cue_id):
            raise CommandIdReused(asked.trigger_id)
        return True


def _age_us(at: Moment, before: Moment) -> int:
    """How long ago something before a restart was; UTC may have gone back since, and then it was just now."""
    return max(0, at.utc_us - before.utc_us)


def _brought_to(at: Moment, place: ShowPlace) -> ShowPlace:
    """A place as this start of the console counts monotonic time; across a restart only UTC goes on.

    What was is never in the future, also where UTC went back: it was just now then.
    """

    def brought(moment: Moment) -> Moment:
        age_us = _age_us(at, moment)
        return Moment(at.monotonic_us - age_us, at.utc_us - age_us)

    def start(known: CueStart | None) -> CueStart | None:
        return None if known is None else CueStart(known.cue_id, brought(known.at))

    zero = None if place.zero is None else brought(place.zero)
    return replace(place, zero=zero, started=start(place.started), previous=start(place.previous))


def _moved(place: ShowPlace, asked: ShowClock, production: Production) -> ShowPlace:
    if not production.order.cues:
        raise _refused("the production has no running order")
    match asked.step:
        case ShowStep.RESET:
            return NO_SHOW
        case ShowStep.JUMP:
            return _begin(place, _cue(production, asked.cue_id), asked.at)
        case ShowStep.ADVANCE:
            return _advanced(place, asked.at, production)
        case ShowStep.BACK:
            return _back(place, asked.at, production)


def _advanced(place: ShowPlace, at: Moment, production: Production) -> ShowPlace:
    cues = production.order.cues
    if place.phase is ShowPhase.BEFORE:
        return _begin(place, cues[0], at)
    index = production.order.index_of(place.cue_id)
    if index is None:
        raise _refused("the running order is over; reset it or jump to a cue")
    if index + 1 == len(cues):
        return replace(place, phase=ShowPhase.OVER)
    return _begin(place, cues[index + 1], at)


def _back(place: ShowPlace, at: Moment, production: Production) -> ShowPlace:
    """The cue before, from its own beginning where that is still known."""
    if place.phase is ShowPhase.OVER:
        return replace(place, phase=ShowPhase.RUNNING)
    index = production.order.index_of(place.cue_id)
    if not index:
        raise _refused("nothing comes before the first cue; reset goes before the show")
    cue, previous = production.order.cues[index - 1], place.previous
    known = previous if previous is not None and previous.cue_id == cue.cue_id else CueStart(cue.cue_id, at)
    return replace(place, started=known, previous=None)


def _begin(place: ShowPlace, cue: Cue, at: Moment) -> ShowPlace:
    zero = place.zero if place.phase is not ShowPhase.BEFORE else None
    zero = zero or Moment(at.monotonic_us - cue.planned_start_s * _US, at.utc_us - cue.planned_start_s * _US)
    started = CueStart(cue.cue_id, at)
    return replace(place, phase=ShowPhase.RUNNING, zero=zero, started=started, previous=place.started)


def _cue(production: Production, cue_id: str | None) -> Cue:
    index = production.order.index_of(cue_id)
    if index is None:
        raise NotFound("cue", cue_id or "")
    return production.order.cues[index]


def _refused(reason: str) -> ValueRefused:
    return ValueRefused(SHOW, "step", reason, {"steps": [step.value for step in ShowStep]})
