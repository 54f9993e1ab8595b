"""One room while a plan grows: what stands there, and which points are blocked for whom. Exact in both directions.

A point is blocked for a party when a carrier of it there would be hit by a product of what stands, or would make one
that hits a victim that stands. All sets are bits over raster points counted from the span's first.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from fleet.planning.coordination.bits import bits_of, halves, shifted, thirds, widened
from fleet.planning.coordination.rooms import Needs, Party, Room, spacing_between

Guards = tuple[int, int, int]


@dataclass(slots=True)
class _Sums:
    """Points that stand, their doubles, their sums of two, and how far they are apart; ``width`` is above every point.

    ``mirrored`` and ``downwards`` hold points and distances counted down from ``width``, for what is taken away.
    """

    width: int
    points: list[int] = field(default_factory=list)
    bits: int = 0
    mirrored: int = 0
    doubles: int = 0
    pairs: int = 0
    differences: int = 0
    downwards: int = 0

    def copy(self) -> _Sums:
        return replace(self, points=list(self.points))

    def add(self, point: int) -> None:
        self.pairs |= self.bits << point
        apart = [abs(point - other) for other in self.points]
        self.differences |= bits_of(apart)
        self.downwards |= bits_of(self.width - each for each in apart)
        self.points.append(point)
        self.bits |= 1 << point
        self.mirrored |= 1 << self.width - point
        self.doubles |= 1 << 2 * point

    def around(self, point: int) -> int:
        """A point plus every difference, and minus it."""
        return self.differences << point | shifted(self.downwards, point - self.width)


class RoomState:
    """What stands in a room; ``blocked`` are the points at which each party that is heard in it may not stand."""

    def __init__(self, room: Room, parties: tuple[Party, ...], size: int, extra: int = 0) -> None:
        self._parties = parties
        self._extra = extra
        self._own = {each: self._guards(parties[each].needs) for each in room.victims}
        self._sums = _Sums(size)
        self._victims: dict[Guards, list[int]] = {}
        self.room = room
        self.blocked = dict.fromkeys(room.heard, 0)

    def copy(self) -> RoomState:
        """A state that goes its own way from here."""
        twin = object.__new__(RoomState)
        twin._parties, twin._extra, twin._own, twin.room = self._parties, self._extra, self._own, self.room
        twin._sums = self._sums.copy()
        twin._victims = {guards: list(points) for guards, points in self._victims.items()}
        twin.blocked = dict(self.blocked)
        return twin

    def add(self, party: int, point: int) -> None:
        """Let a carrier stand, and block what it blocks."""
        sums, is_new = self._sums, not self._sums.bits >> point & 1
        self._block_as_victims(point)
        self._keep_apart(party, point)
        made = self._blocked_for_makers(point, party if party in self._own else None, is_new=is_new)
        if made:
            for each in self.blocked:
                self.blocked[each] |= made
        if is_new:
            sums.add(point)
        if party in self._own and any(self._own[party]):
            self._victims.setdefault(self._own[party], []).append(point)

    @property
    def unshared(self) -> int:
        """The points at which a second carrier would leave no place to a party that keeps three-signal products off.

        Of two carriers at one place A + B - C falls on any A.
        """
        return self._sums.bits if any(three for _, three, _ in self._own.values()) else 0

    def _guards(self, needs: Needs) -> Guards:
        """Each guard that is on, with what is asked on top."""
        two, three, fifth = (guard and guard + self._extra for guard in (needs.two, needs.three, needs.fifth))
        return two, three, fifth

    def _keep_apart(self, party: int, point: int) -> None:
        victims, place = self.room.victims, 1 << point
        for other in self.blocked:
            if party in victims or other in victims:
                spacing = spacing_between(self._parties, party, other) + self._extra
                self.blocked[other] |= widened(place, spacing)

    def _block_as_victims(self, x: int) -> None:
        """Keep everybody off the products that a new point makes with what stands."""
        sums = self._sums
        three_bits = sums.around(x) | sums.pairs >> x
        two_bits = bits_of(2 * x - a for a in sums.points if 2 * x >= a) | sums.doubles >> x
        made: dict[Guards, int] = {}
        for party, guards in self._own.items():
            if not any(guards):
                continue
            if guards not in made:
                made[guards] = self._hit_by(x, guards, two_bits, three_bits)
            self.blocked[party] |= made[guards]

    def _hit_by(self, x: int, guards: Guards, two_bits: int, three_bits: int) -> int:
        (two, three, fifth), points = guards, self._sums.points
        found = widened(two_bits, two) | widened(three_bits, three)
        found |= widened(1 << x, max(two, -(-fifth // 2)))  # 2y - A and 3y - 2A fall on y itself.
        if three:
            found |= halves((x + a for a in points), three)  # A + B - y falls on y.
            if any(abs(x - a) < three for a in points):
                found |= (1 << self._sums.width) - 1  # y + A - B falls on y wherever that is.
        if fifth:
            made = [*(3 * x - 2 * a for a in points), *(3 * a - 2 * x for a in points)]
            found |= widened(bits_of(each for each in made if each >= 0), fifth)
        return found

    def _blocked_for_makers(self, x: int, party: int | None, *, is_new: bool) -> int:
        """The points y from which a maker would hit a victim, with a new point: as victim if it is one, as maker."""
        found = 0
        own = None if party is None else self._own[party]
        if own is not None and any(own):
            found |= self._hits_new_victim(x, own)
        if is_new:
            for guards, victims in self._victims.items():
                found |= self._hits_old_victims(x, guards, victims)
        return found

    def _hits_new_victim(self, x: int, guards: Guards) -> int:
        (two, three, fifth), sums = guards, self._sums
        others = [a for a in sums.points if a != x]
        found = widened(1 << x, max(two, -(-fifth // 2)))  # 2x - y; 3x - 2y is half as far.
        found |= widened(bits_of(2 * a - x for a in others if 2 * a >= x), two)  # 2A - y.
        found |= halves((x + a for a in others), two)  # 2y - A.
        if three:
            found |= widened(sums.around(x) | sums.pairs >> x, three)  # y + A - B, A + B - y.
            found |= widened(bits_of(2 * x - a for a in others if 2 * x >= a), three)  # y + A - x.
            found |= widened(bits_of(others), three)  # x + A - y falls on x where y is near A.
        if fifth:
            found |= thirds((x + 2 * a for a in others), fifth)  # 3y - 2A.
            found |= halves((3 * a - x for a in others if 3 * a >= x), fifth)  # 3A - 2y.
        return found

    def _hits_old_victims(self, x: int, guards: Guards, victims: list[int]) -> int:
        two, three, fifth = guards
        others = [v for v in victims if v != x]
        found = widened(bits_of(2 * x - v for v in others if 2 * x >= v), two)  # 2x - y falls on v.
        found |= halves((x + v for v in others), two)  # 2y - x.
        if three and others:
            found |= widened(self._three_with(x, others), three)
            found |= widened(1 << x, three)  # v + x - y falls on v where y is near x.
        if fifth:
            found |= thirds((v + 2 * x for v in others), fifth)
            found |= halves((3 * x - v for v in others if 3 * x >= v), fifth)
        return found

    def _three_with(self, x: int, victims: list[int]) -> int:
        """Where y + x - B, y + A - x and x + A - y fall on a victim: v - x + B, v - A + x, x + A - v."""
        sums = self._sums
        if len(victims) == len(sums.points):
            return sums.around(x) | sums.pairs >> x | bits_of(2 * v - x for v in victims if 2 * v >= x)
        found = 0
        for v in victims:
            found |= shifted(sums.bits, v - x) | shifted(sums.bits, x - v) | shifted(sums.mirrored, v + x - sums.width)
        return found
