"""Most carriers into one room: one spacing, one set of guards, everybody hears everybody.

Anytime: a step lays one algebraic set onto the room, or walks on from the best packing by exchanging carriers, or, in
a small room, goes on trying all packings there are. What is best so far is kept; its number of carriers never falls.
The same seed and as many steps give the same packing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from fleet.planning.coordination.exhaustion import Exhaustion
from fleet.planning.coordination.rulers import Ruler, rulers
from fleet.planning.coordination.vacancies import Guards, Vacancies
from fleet.planning.coordination.walk import Luck, Walk

WALK_EVERY = 16
"""One step of so many is a walk, as long as there are algebraic sets to lay; then all are."""
TRIED_UP_TO, TRY_EVERY = 9, 4
"""Of a room that surely holds no more than so many, one step of so many goes on trying all packings there are."""


@dataclass(frozen=True, slots=True)
class Packing:
    """What is asked: bit p of ``allowed`` says that a carrier may stand at raster point p.

    Spacing and guards are in raster steps; a guard of 0 switches its family off. ``fixed`` are different points that
    stand already, wherever they are and whatever they do to one another; ``asked`` carriers shall stand with them.
    """

    allowed: int
    spacing: int
    two: int
    three: int
    asked: int
    fifth: int = 0
    fixed: tuple[int, ...] = ()

    @property
    def guards(self) -> Guards:
        """What a carrier needs. Two carriers make no product of three signals."""
        return Guards(self.spacing, self.two, self.three if self.asked > 2 else 0, self.fifth)

    def room(self, guards: Guards) -> Vacancies:
        """The room with what stands in it already."""
        room = Vacancies(self.allowed, guards, min(self.fixed, default=0), max(self.fixed, default=0))
        for point in self.fixed:
            room.add(point)
        return room


@dataclass(frozen=True, slots=True)
class Best:
    """The best packing so far, sorted, after so many steps; no packing of the room holds more than ``at_most``."""

    carriers: tuple[int, ...]
    steps: int
    at_most: int

    @property
    def final(self) -> bool:
        """Whether there is nothing better to look for."""
        return len(self.carriers) >= self.at_most


def pack(
    problem: Packing,
    seed: int,
    should_stop: Callable[[Best], bool],
    on_better: Callable[[Best], None] = lambda _: None,
) -> Best:
    """Search until all that are asked for stand, none holds more, or it is told to stop; it asks after each step.

    Raises ValueError for negative numbers, for a point that is fixed twice, and for points that are too far apart.
    """
    _refuse_nonsense(problem)
    best = Best(tuple(sorted(problem.fixed)), 0, at_most(problem))
    search = _Search(problem, seed, best.at_most)
    while not best.final and not should_stop(best):
        carriers = search.step(len(best.carriers))
        better = len(carriers) > len(best.carriers)
        carriers = carriers if better else best.carriers
        best = Best(carriers, best.steps + 1, len(carriers) if search.is_proved else best.at_most)
        if better:
            on_better(best)
    return best


def _refuse_nonsense(problem: Packing) -> None:
    if min(problem.allowed, problem.spacing, problem.two, problem.three, problem.fifth, problem.asked) < 0:
        raise ValueError(f"points, spacing, guards and number asked for must not be negative: {problem}")
    if len(set(problem.fixed)) != len(problem.fixed):
        raise ValueError(f"each fixed point once, not {problem.fixed}")


class _Search:
    """What a search knows beside its best packing: a room to walk in, and the algebraic sets still to be tried."""

    def __init__(self, problem: Packing, seed: int, at_most: int) -> None:
        self._problem, self._steps, guards = problem, 0, problem.guards
        room = problem.room(guards)
        self._walk, self._offset = Walk(room, problem.asked, Luck(seed)), room.point(0)
        self._rulers = rulers(room.vacant(), guards.third, guards.beside) if guards.third else iter(())
        small = at_most <= TRIED_UP_TO
        self._all = Exhaustion(problem.room(guards), problem.asked) if small else None

    @property
    def is_proved(self) -> bool:
        """Whether all packings were tried, so that none holds more than the best."""
        return self._all is not None and self._all.done

    def step(self, than: int) -> tuple[int, ...]:
        """A packing: not always a new one, nor better than the best, which has ``than`` carriers."""
        self._steps += 1
        if self._steps == 1:
            return self._first()
        if self._all is not None and self._steps % TRY_EVERY == 0:
            return self._all.stretch(than)
        ruler = next(self._rulers, None) if self._steps % WALK_EVERY else None
        return self._walk.stretch() if ruler is None else self._laid(ruler, than)

    def _first(self) -> tuple[int, ...]:
        """Each carrier at the lowest place that is left; or a pair, where that is more: no third makes products."""
        problem = self._problem
        laid = from_below(problem.room(problem.guards), problem.asked)
        pair = from_below(problem.room(replace(problem.guards, three=0)), min(problem.asked, 2))
        first = max(laid, pair, key=len)
        self._walk.begin(laid)
        return first

    def _laid(self, ruler: Ruler, than: int) -> tuple[int, ...]:
        """A ruler laid onto the room, and the walk begun afresh there, if that may be more than the best."""
        points = ruler.fullest(than - len(self._problem.fixed))
        if not points:
            return ()
        self._walk.begin(tuple(point + self._offset for point in points))
        return self._walk.carriers


def from_below(room: Vacancies, asked: int) -> tuple[int, ...]:
    """Carriers added to a room until so many stand, each at the lowest vacant point; sorted with those that stood."""
    while len(room.carriers) < asked and (vacant := room.vacant()):
        room.add(room.point((vacant & -vacant).bit_length() - 1))
    return tuple(sorted(room.carriers))


def at_most(problem: Packing) -> int:
    """More than so many no packing holds: by number asked for, by spacing alone, and by counting differences.

    Differences of n carriers are n (n - 1) / 2, each at least the guard of three-signal products from the next, from
    the spacing to the room's length.
    """
    standing = len(problem.fixed)
    spaced, free = standing, problem.room(Guards(problem.spacing)).vacant()
    while free and spaced < problem.asked:
        free &= -1 << (free & -free).bit_length() - 1 + max(1, problem.spacing)
        spaced += 1
    length = problem.allowed.bit_length() - (problem.allowed & -problem.allowed).bit_length()
    many = 2
    while many * (many + 1) // 2 - 1 <= (length - problem.spacing) // max(1, problem.three):
        many += 1
    return max(standing, min(spaced, problem.asked, standing + many if problem.three else spaced))
