"""The safe order: one link after the other, never two on one frequency, and as few as can be that step aside.

Whoever's place is free goes home at once: in a plan that works nobody's place is in another's way, so going home never
makes anything worse. What is left then waits in circles, or for somebody who stays. Of each tangle of circles the
fewest step aside, to a frequency that is in nobody's way, and go home as soon as their place is free; asleep only by
choice, and only where no frequency is free.

While a link moves, it counts as being on its old and on its new frequency until all of its ends have confirmed.
"""

from __future__ import annotations

from collections import deque

from fleet.model.retune import StepKind
from fleet.planning.retuning.air import Air
from fleet.planning.retuning.circles import Aside, Waits, fewest_aside, first_tangle
from fleet.planning.retuning.links import Blocked, End, Link, Order, Room, Step

NO_PLACE_ASIDE = "waits in a circle, and no frequency is free for anybody of it to step aside"
_STAYS = "its new frequency is held by what stays where it is"


def safe_order(room: Room, *, may_sleep: bool = False) -> Order:
    """The order in which the links of a room go to where they are wanted.

    ``may_sleep`` lets packs sleep where no frequency is free. What can't be brought home safely stays where it is.
    """
    left_out: dict[str, Blocked] = {}
    while True:
        attempt = _Attempt(room, left_out, may_sleep=may_sleep)
        attempt.run()
        if not attempt.stranded:
            return attempt.order()
        # Nothing may be left standing aside: begin again without those who can't come home.
        left_out |= {name: Blocked(name, NO_PLACE_ASIDE, others) for name, others in attempt.stranded.items()}


class _Attempt:
    """One try, without those who are known to stay."""

    def __init__(self, room: Room, left_out: dict[str, Blocked], *, may_sleep: bool) -> None:
        self._air = Air(room)
        self._may_sleep = may_sleep
        self._links = {link.link_id: link for link in room.links}
        self._ends = {link.link_id: link.ends for link in room.links}
        self._blocked = dict(left_out)
        self._steps: list[Step] = []
        self._aside: set[str] = set()
        self._chosen: set[str] = set()
        self._fewest = True
        self._waiting: dict[str, Link] = {}
        self.stranded: dict[str, tuple[str, ...]] = {}
        for link in room.links:
            self._take_in(link)

    def run(self) -> None:
        """Bring everybody home who can be."""
        while True:
            self._all_home_who_can()
            waits = self._waits()
            tangle = first_tangle(waits)
            if not tangle or not self._one_aside(tangle):
                return

    def order(self) -> Order:
        """What came of it."""
        return Order(tuple(self._steps), tuple(self._blocked.values()), len(self._aside), self._fewest)

    def _take_in(self, link: Link) -> None:
        if link.is_home or link.link_id in self._blocked:
            return
        if link.stays:
            self._blocked[link.link_id] = Blocked(link.link_id, link.stays)
        elif strangers := self._air.strangers(link, link.target_hz):
            self._blocked[link.link_id] = Blocked(link.link_id, f"its new frequency is held by {strangers[0].words}")
        else:
            self._waiting[link.link_id] = link

    def _all_home_who_can(self) -> None:
        looked_at = deque(self._waiting)
        while looked_at:
            link = self._waiting.get(looked_at.popleft())
            if link is None or self._air.in_the_way(link, link.target_hz):
                continue
            left_hz = self._air.on_hz(link.link_id)
            self._go(link, self._way_home(link), link.target_hz)
            del self._waiting[link.link_id]
            looked_at.extend(name for hz in sorted(left_hz) for name in self._air.wanting(hz))

    def _way_home(self, link: Link) -> StepKind:
        return StepKind.MOVE if self._air.on_hz(link.link_id) else StepKind.WAKE

    def _waits(self) -> Waits:
        """Who waits for whom; those who wait for somebody that stays, stay as well."""
        while True:
            waits = {name: self._air.in_the_way(link, link.target_hz) for name, link in self._waiting.items()}
            hopeless = {
                name: tuple(other for other in after if other not in self._waiting) for name, after in waits.items()
            }
            hopeless = {name: others for name, others in hopeless.items() if others}
            if not hopeless:
                return waits
            for name, others in hopeless.items():
                del self._waiting[name]
                self._blocked[name] = Blocked(name, _STAYS, others)
                if name in self._aside:
                    self.stranded[name] = others

    def _one_aside(self, tangle: Waits) -> bool:
        """Let one of a tangle step aside; False where nobody can, who is stranded then."""
        link = self._next_aside(tangle)
        if link is None:
            self.stranded |= {name: tuple(other for other in tangle if other != name) for name in tangle}
            return False
        parking_hz = self._air.parking(link)
        self._go(link, StepKind.SLEEP if parking_hz is None else StepKind.PARK, parking_hz)
        self._aside.add(link.link_id)
        return True

    def _next_aside(self, tangle: Waits) -> Link | None:
        """Who of a tangle steps aside now: one of those chosen before, as long as they can, else chosen anew."""
        chosen = (name for name in tangle if name in self._chosen)
        known = next((name for name in chosen if self._may_step_aside(name)), None)
        if known is not None:
            return self._links[known]
        aside = self._choose(tangle)
        if aside is None:
            return None
        self._fewest = self._fewest and aside.fewest and self._chosen.isdisjoint(tangle)
        self._chosen |= set(aside.names)
        return self._links[aside.names[0]]

    def _may_step_aside(self, name: str) -> bool:
        link = self._links[name]
        return self._air.parking(link) is not None or (self._may_sleep and link.sleeps)

    def _choose(self, tangle: Waits) -> Aside | None:
        """Who steps aside: on a free frequency where that does, asleep where it must be and may."""
        free = frozenset(name for name in tangle if self._air.parking(self._links[name]) is not None)
        best = fewest_aside(tangle, free.__contains__)
        if best is None and self._may_sleep:
            best = fewest_aside(tangle, lambda name: name in free or self._links[name].sleeps)
        if best is None:
            return None
        # A hand at a pack twice is less bad than one more that is moved twice, and worse than nothing.
        easy = fewest_aside(tangle, lambda name: name in free and not self._links[name].by_hand)
        names = easy.names if easy is not None and len(easy.names) <= len(best.names) else best.names
        return Aside(names, len(names) == 1 or (best.fewest and len(free) == len(tangle)))

    def _go(self, link: Link, kind: StepKind, to_hz: int | None) -> None:
        ends = tuple(end for end in self._ends[link.link_id] if end.frequency_hz != to_hz)
        self._steps.append(Step(kind, link.link_id, ends, to_hz))
        self._air.put(link.link_id, () if to_hz is None else (to_hz,))
        if to_hz is not None:
            self._ends[link.link_id] = tuple(End(end.address, to_hz) for end in link.ends)
