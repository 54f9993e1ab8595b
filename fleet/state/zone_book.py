"""One writer in a zone, where several people share a fleet: taken, offered, accepted, given up, or lapsed.

Whoever works alone notices nothing of it: while nobody holds a zone, everybody whose role reaches it may write there.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from typing import assert_never

from fleet.errors import InvalidRequest, NotFound, ZoneHeld
from fleet.model.moment import Moment
from fleet.model.zone import (
    ANYBODY,
    AcceptZone,
    OfferZone,
    ReleaseZone,
    ScreensChanged,
    TakeZone,
    ZoneAct,
    ZoneStep,
    ZoneWriter,
    ZoneWriterChanged,
)

LAPSES_AFTER_US = 30_000_000
"""How long somebody without a screen still holds a zone; common practice: long enough for a reload or a short walk."""
Changes = tuple[ZoneWriterChanged, ...]


@dataclass(frozen=True, slots=True)
class _Hold:
    writer: ZoneWriter
    seen_us: int
    """When its holder had a screen, or wrote, for the last time; counts only while they have none."""


class ZoneBook:
    """Who holds which zone. At most as many as the production has zones."""

    def __init__(self) -> None:
        self._holds: dict[str, _Hold] = {}
        self._at_screens: set[str] = set()

    def writers(self) -> tuple[ZoneWriter, ...]:
        """The zones that somebody holds, in the order in which they were taken."""
        return tuple(hold.writer for hold in self._holds.values())

    def restore(self, at: Moment, changes: Iterable[ZoneWriterChanged]) -> None:
        """Take in what the journal remembers, the oldest first; holders have their time to open a screen again."""
        for change in changes:
            self._holds.pop(change.zone, None)
            self._give(replace(change, at=at))

    # ------------------------------------------------------------ what people do

    def act(self, at: Moment, person: str, act: ZoneAct, zones: Collection[str]) -> Changes:
        """Do what somebody asks of one of those zones.

        Raises NotFound, ZoneHeld, and InvalidRequest for what can't be done as things stand; nothing was changed then.
        """
        if act.zone not in zones:
            raise NotFound("zone", act.zone)
        match act:
            case TakeZone():
                return self._take(at, person, act)
            case OfferZone():
                return self._offer(at, person, act)
            case AcceptZone():
                return self._accept(at, person, act.zone)
            case ReleaseZone():
                self._own(person, act.zone)
                return self._end(at, act.zone, ZoneStep.RELEASED, person)
        assert_never(act)

    def _take(self, at: Moment, person: str, act: TakeZone) -> Changes:
        hold = self._holds.get(act.zone)
        if hold is not None and hold.writer.person == person:
            return ()
        if hold is not None and not act.by_force:
            raise ZoneHeld(act.zone, hold.writer.person)
        if act.by_force and not act.reason.strip():
            raise InvalidRequest("taking a zone by force needs a reason")
        taken = ZoneWriterChanged(at, act.zone, ZoneWriter(act.zone, person, at.utc_us), ZoneStep.TAKEN, person)
        return self._give(taken if hold is None else replace(taken, step=ZoneStep.FORCED, reason=act.reason))

    def _offer(self, at: Moment, person: str, act: OfferZone) -> Changes:
        hold = self._own(person, act.zone)
        if act.to == person:
            raise InvalidRequest(f"{person} holds {act.zone} already")
        if act.to == hold.writer.offered_to:
            return ()
        writer = replace(hold.writer, offered_to=act.to)
        self._holds[act.zone] = replace(hold, writer=writer)
        return (ZoneWriterChanged(at, act.zone, writer, ZoneStep.OFFERED, person),)

    def _accept(self, at: Moment, person: str, zone: str) -> Changes:
        hold = self._holds.get(zone)
        if hold is None:
            raise InvalidRequest(f"nobody holds {zone}; it can be taken without an offer")
        if hold.writer.person == person or hold.writer.offered_to not in (person, ANYBODY):
            raise InvalidRequest(f"{hold.writer.person} has not offered {zone} to {person}")
        writer = ZoneWriter(zone, person, at.utc_us)
        return self._give(ZoneWriterChanged(at, zone, writer, ZoneStep.ACCEPTED, person))

    def _own(self, person: str, zone: str) -> _Hold:
        hold = self._holds.get(zone)
        if hold is None:
            raise InvalidRequest(f"nobody holds {zone}")
        if hold.writer.person != person:
            raise ZoneHeld(zone, hold.writer.person)
        return hold

    def _give(self, change: ZoneWriterChanged) -> Changes:
        if change.writer is not None:
            self._holds[change.zone] = _Hold(change.writer, change.at.monotonic_us)
        return (change,)

    def _end(self, at: Moment, zone: str, step: ZoneStep, by: str = "") -> Changes:
        del self._holds[zone]
        return (ZoneWriterChanged(at, zone, None, step, by),)

    # ------------------------------------------------------------ what follows from it

    def require(self, at: Moment, person: str, zones: Iterable[str]) -> None:
        """Raise ZoneHeld when another person holds one of the zones. Writing keeps one's own."""
        held = [(zone, self._holds[zone]) for zone in zones if zone in self._holds]
        for zone, hold in held:
            if hold.writer.person != person:
                raise ZoneHeld(zone, hold.writer.person)
        for zone, hold in held:
            self._holds[zone] = replace(hold, seen_us=at.monotonic_us)

    def screens(self, change: ScreensChanged) -> None:
        """Take in that a person's first screen opened, or their last one closed."""
        if change.any_open:
            self._at_screens.add(change.person)
            return
        self._at_screens.discard(change.person)
        for zone, hold in self._holds.items():
            if hold.writer.person == change.person:
                self._holds[zone] = replace(hold, seen_us=change.at.monotonic_us)

    def tick(self, at: Moment) -> Changes:
        """Let those go without whose holder has had no screen, and written nothing, for thirty seconds."""
        oldest_us = at.monotonic_us - LAPSES_AFTER_US
        return self._end_each(
            at,
            ZoneStep.LAPSED,
            lambda hold: hold.writer.person not in self._at_screens and hold.seen_us <= oldest_us,
        )

    def keep_only(self, at: Moment, zones: Collection[str]) -> Changes:
        """Another production is in place: nobody holds a zone that it doesn't have."""
        return self._end_each(at, ZoneStep.GONE, lambda hold: hold.writer.zone not in zones)

    def _end_each(self, at: Moment, step: ZoneStep, is_over: Callable[[_Hold], bool]) -> Changes:
        over = [zone for zone, hold in self._holds.items() if is_over(hold)]
        return tuple(change for zone in over for change in self._end(at, zone, step))
