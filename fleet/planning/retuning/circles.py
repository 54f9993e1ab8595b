"""Links that wait for one another in circles: which of them must step aside, and as few as can be.

Who waits for whom is a directed graph. A link that stepped aside is in nobody's way, so taking it out of the graph
breaks every circle through it: what is sought is a smallest set of nodes whose removal leaves no circle (a feedback
vertex set). Each tangle is searched by itself: along a shortest circle one of its nodes must go, and to prove
that k are the fewest, k - 1 are tried in full. A tangle too large for that is broken greedily, and said to be.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

TRIES_MAXIMUM = 5_000
"""Nodes of the search for one tangle; beyond that the greedy answer stands."""
Waits = Mapping[str, tuple[str, ...]]
"""For each link those that it waits for, in an order that doesn't hang on the run."""


@dataclass(frozen=True, slots=True)
class Aside:
    """Who must step aside in one tangle; ``fewest`` where no fewer would do."""

    names: tuple[str, ...]
    fewest: bool


def first_tangle(waits: Waits) -> Waits:
    """The links of one tangle, each with those of the same tangle that it waits for; empty where no circle is left."""
    waits = _core(waits)
    before = _reversed(waits)
    for name in waits:
        ahead = _reached(waits, name)
        if name in ahead:
            tangle = ahead & _reached(before, name)
            return _only(waits, tangle)
    return {}


def fewest_aside(tangle: Waits, can: Callable[[str], bool]) -> Aside | None:
    """The fewest of those who ``can`` that free a tangle, or None where they can't all together."""
    able = frozenset(name for name in tangle if can(name))
    if shortest_circle(_only(tangle, frozenset(tangle) - able)) is not None:
        return None
    search = _Search(able)
    for count in range(len(able) + 1):
        found = search.within(tangle, count)
        if found is not None:
            return Aside(found, fewest=True)
        if search.gave_up:
            break
    return Aside(_greedy(tangle, able), fewest=False)


def shortest_circle(waits: Waits) -> tuple[str, ...] | None:
    """A shortest circle, as the names along it, or None where there is none."""
    waits = _core(waits)
    best: tuple[str, ...] | None = None
    for name in waits:
        best = _circle_through(waits, name, None if best is None else len(best)) or best
        if best is not None and (len(best) <= 2 or len(best) == len(waits)):
            break  # Nobody waits for themselves, so there is none shorter than two; the second is one large circle.
    return best


@dataclass
class _Search:
    """Tries who may go, one circle after the other, at most so many times."""

    able: frozenset[str]
    tries: int = field(default=0)

    @property
    def gave_up(self) -> bool:
        return self.tries >= TRIES_MAXIMUM

    def within(self, waits: Waits, count: int) -> tuple[str, ...] | None:
        """A set of at most ``count`` that leaves no circle, or None."""
        self.tries += 1
        circle = shortest_circle(waits)
        if circle is None:
            return ()
        if count == 0 or self.gave_up:
            return None
        for name in circle:
            if name in self.able:
                rest = self.within(_without(waits, name), count - 1)
                if rest is not None:
                    return (name, *rest)
        return None


def _greedy(waits: Waits, able: frozenset[str]) -> tuple[str, ...]:
    """Again and again the one of a shortest circle for whom most wait."""
    taken: list[str] = []
    while (circle := shortest_circle(waits)) is not None:
        before = _reversed(waits)
        name = max((each for each in circle if each in able), key=lambda each: len(before[each]))
        taken.append(name)
        waits = _without(waits, name)
    return tuple(taken)


def _circle_through(waits: Waits, start: str, shorter_than: int | None) -> tuple[str, ...] | None:
    came_from: dict[str, str] = {}
    queue = deque([(start, 1)])
    while queue:
        name, length = queue.popleft()
        if shorter_than is not None and length >= shorter_than:
            return None
        for after in waits[name]:
            if after == start:
                return _walked(came_from, start, name)
            if after not in came_from:
                came_from[after] = name
                queue.append((after, length + 1))
    return None


def _walked(came_from: Mapping[str, str], start: str, last: str) -> tuple[str, ...]:
    walk = [last]
    while walk[-1] != start:
        walk.append(came_from[walk[-1]])
    return tuple(reversed(walk))


def _core(waits: Waits) -> Waits:
    """Without those who can't be on a circle: nobody waits for them, or they wait for nobody that is left."""
    while True:
        awaited = {each for after in waits.values() for each in after}
        kept = frozenset(
            name for name, after in waits.items() if name in awaited and any(one in waits for one in after)
        )
        if len(kept) == len(waits):
            return _only(waits, kept)
        waits = _only(waits, kept)


def _without(waits: Waits, gone: str) -> Waits:
    return _only(waits, frozenset(waits) - {gone})


def _only(waits: Waits, names: frozenset[str]) -> Waits:
    return {name: tuple(one for one in after if one in names) for name, after in waits.items() if name in names}


def _reversed(waits: Waits) -> Waits:
    turned: dict[str, list[str]] = {name: [] for name in waits}
    for name, after in waits.items():
        for each in after:
            if each in turned:
                turned[each].append(name)
    return {name: tuple(before) for name, before in turned.items()}


def _reached(waits: Waits, start: str) -> frozenset[str]:
    """Whoever is reached from a name in one step or more."""
    found: set[str] = set()
    ahead = [start]
    while ahead:
        more = [each for each in waits[ahead.pop()] if each not in found]
        found.update(more)
        ahead += more
    return frozenset(found)
