"""Which spare to take first: legal beside everybody who is on the air now, and quiet when somebody last looked.

The order is: verified ones first; then legal ones that nobody looked at lately; then those that were heard to be taken;
then those that break a rule. Among equals the one with which all that hears it keeps the widest margin, then the one
looked at last, then the lowest frequency.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

from fleet.planning.coordination.plan import Carrier, Fault, check
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.rooms import parties_of, rooms_of

_US_PER_MINUTE = 60_000_000
_SPARES_MAXIMUM = 1_000
ON_THE_AIR = "on the air already"


@dataclass(frozen=True, slots=True)
class Practice:
    """When a spare counts as quiet, and how long that holds. Common practice, not a rule."""

    quiet_below_over_floor_db: float = 10.0
    look_holds_us: int = 10 * _US_PER_MINUTE


@dataclass(frozen=True, slots=True)
class Look:
    """What was heard on a spare's frequency with nobody of ours there: when, and beside which noise floor."""

    at_us: int
    level_dbm: float
    floor_dbm: float


@dataclass(frozen=True, slots=True)
class Spare:
    """A frequency kept for a group, and the last look at it; None if there was none."""

    carrier: Carrier
    look: Look | None = None


class Standing(IntEnum):
    """What a spare is worth at the moment, the best first."""

    VERIFIED = 1
    UNVERIFIED = 2
    TAKEN = 3
    ILLEGAL = 4


@dataclass(frozen=True, slots=True)
class RankedSpare:
    """A spare in its place; rank 1 is taken first, and only a verified one without a further look.

    ``age_us`` is that of the last look, ``over_floor_db`` what it found. ``faults`` are the rules that it would break,
    by itself or by what it does to others; ``worst_margin_hz`` is the margin of all that it has to do with.
    """

    rank: int
    spare: Spare
    standing: Standing
    age_us: int | None
    over_floor_db: float | None
    faults: tuple[Fault, ...]
    worst_margin_hz: int | None


PRACTICE = Practice()


def ranked(
    request: Request, active: Sequence[Carrier], spares: Sequence[Spare], now_us: int, practice: Practice = PRACTICE
) -> tuple[RankedSpare, ...]:
    """The spares in their order, each verified anew against the carriers that are on the air.

    Who is about to leave the air for a spare isn't among ``active``. Times of looks and ``now_us`` are of one clock; a
    look that lies ahead of it proves nothing. Raises ValueError for more than 1,000 spares.
    """
    if len(spares) > _SPARES_MAXIMUM:
        raise ValueError(f"at most {_SPARES_MAXIMUM} spares are ranked, {len(spares)} were given")
    around = _Around(request, active)
    found = [_judged(around, spare, now_us, practice) for spare in spares]
    found.sort(key=_order)
    return tuple(_at_rank(rank, each) for rank, each in enumerate(found, start=1))


class _Around:
    """The carriers that a group's spare has to do with: all that is heard where the group is heard, and no more.

    What is said of a spare stays the same without the others; with a thousand carriers in many zones it saves most.
    """

    def __init__(self, request: Request, active: Sequence[Carrier]) -> None:
        self.request = request
        self._active = active
        self._rooms = rooms_of(request, parties_of(request))
        self._known: dict[int, tuple[tuple[Carrier, ...], frozenset[Fault]]] = {}

    def of(self, group: int) -> tuple[tuple[Carrier, ...], frozenset[Fault]]:
        """Those carriers, and what is broken among them without a spare."""
        if group not in self._known:
            concerned = {other for room in self._rooms if group in room.heard for other in room.heard}
            carriers = tuple(carrier for carrier in self._active if carrier.group in concerned)
            self._known[group] = carriers, frozenset(check(self.request, carriers).faults)
        return self._known[group]


def _judged(around: _Around, spare: Spare, now_us: int, practice: Practice) -> RankedSpare:
    request = around.request
    carriers, broken = around.of(spare.carrier.group)
    verdict = check(request, (*carriers, spare.carrier))
    faults = tuple(fault for fault in verdict.faults if fault not in broken)
    if spare.carrier in carriers:
        faults = (Fault(ON_THE_AIR, spare.carrier.point * request.raster_hz, request.raster_hz), *faults)
    age_us = None if spare.look is None else now_us - spare.look.at_us
    over_floor_db = None if spare.look is None else spare.look.level_dbm - spare.look.floor_dbm
    standing = Standing.ILLEGAL if faults else _heard(age_us, over_floor_db, practice)
    return RankedSpare(0, spare, standing, age_us, over_floor_db, faults, verdict.worst_margin_hz)


def _heard(age_us: int | None, over_floor_db: float | None, practice: Practice) -> Standing:
    """What the last look is worth: a signal that was heard counts however long ago that was."""
    if age_us is None or over_floor_db is None:
        return Standing.UNVERIFIED
    if not over_floor_db < practice.quiet_below_over_floor_db:
        return Standing.TAKEN
    return Standing.VERIFIED if 0 <= age_us <= practice.look_holds_us else Standing.UNVERIFIED


def _order(each: RankedSpare) -> tuple[int, float, float, int, int]:
    margin_hz = float("inf") if each.worst_margin_hz is None else float(each.worst_margin_hz)
    age_us = float("inf") if each.age_us is None else float(abs(each.age_us))
    return each.standing, -margin_hz, age_us, each.spare.carrier.point, each.spare.carrier.group


def _at_rank(rank: int, each: RankedSpare) -> RankedSpare:
    return RankedSpare(
        rank, each.spare, each.standing, each.age_us, each.over_floor_db, each.faults, each.worst_margin_hz
    )
