"""Links that wait for one another in circles: which of them must step aside, and as few as can be.

Who waits for whom is a directed graph. A link that stepped aside is in nobody's way, so taking it out of the graph
breaks every circle through it: what is sought is a smallest set of nodes whose removal leaves no circle (a feedback
vertex set). Each tangle is searched by itself: along a shortest circle one of its nodes must go, and to prove that k
are the fewest, k - 1 are tried in full. A tangle too large for that is broken greedily, and said to be.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

WORK_MAXIMUM = 200_000
"""How many waits are followed in the search for one tangle; beyond that the greedy answer stands."""
Waits = Mapping[str, tuple[str, ...]]
"""For each link those that it waits for, in an order that doesn't hang on the run."""


@dataclass(frozen=True, slots=True)
class Aside:
    """Who must step aside in one tangle; ``fewest`` where no fewer would do."""

    names: tuple[str, ...]
    fewest: bool


def first_tangle(waits: Waits) -> Waits:
    """The links of one tangle, each with those of the same tangle that it waits for; empty where no circle is left."""
    waits = core(waits)
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
    if core(_only(tangle, frozenset(tangle) - able)):
        return None
    greedy = _without_needless(tangle, _greedy(tangle, able))
    search = _Search(able)
    for count in range(len(greedy)):
        found = search.within(tangle, count)
        if search.gave_up:
            return Aside(greedy, fewest=False)
        if found is not None:
            return Aside(found, fewest=True)
    return Aside(greedy, fewest=True)


def core(waits: Waits) -> Waits:
    """Without those who can't be on a circle: nobody waits for them, or they wait for nobody that is left."""
    before = _reversed(waits)
    behind = {name: len(names) for name, names in before.items()}
    in_front = {name: sum(one in waits for one in after) for name, after in waits.items()}
    gone: set[str] = set()
    ahead = [name for name in waits if not behind[name] or not in_front[name]]
    while ahead:
        name = ahead.pop()
        if name in gone:
            continue
        gone.add(name)
        for counts, others in ((behind, waits[name]), (in_front, before[name])):
            for other in others:
                if other in counts and other not in gone:
                    counts[other] -= 1
                    if not counts[other]:
                        ahead.append(other)
    return _only(waits, frozenset(waits) - gone)


class _Search:
    """Tries who may go, one circle after the other, with a bound on the work."""

    def __init__(self, able: frozenset[str]) -> None:
        self._able = able
        self._work = 0

    @property
    def gave_up(self) -> bool:
        """Whether the bound was met, so that what wasn't found may be there all the same."""
        return self._work >= WORK_MAXIMUM

    def within(self, waits: Waits, count: int) -> tuple[str, ...] | None:
        """A set of at most ``count`` that leaves no circle, or None."""
        waits = core(waits)
        self._work += len(waits)
        if not waits:
            return ()
        if count == 0 or self.gave_up:
            return None
        for name in self._shortest_circle(waits):
            if name in self._able:
                rest = self.within(_without(waits, name), count - 1)
                if rest is not None:
                    return (name, *rest)
        return None

    def _shortest_circle(self, waits: Waits) -> tuple[str, ...]:
        """A shortest circle of a core that isn't empty, as the names along it."""
        best: tuple[str, ...] = ()
        for name in waits:
            best = self._circle_through(waits, name, len(best)) or best
            if best and (len(best) <= 2 or len(best) == len(waits) or self.gave_up):
                break  # Nobody waits for themselves, so there is none shorter than two; the second is one large circle.
        return best

    def _circle_through(self, waits: Waits, start: str, shorter_than: int) -> tuple[str, ...]:
        came_from: dict[str, str] = {}
        queue = deque([(start, 1)])
        while queue:
            name, length = queue.popleft()
            if shorter_than and length >= shorter_than:
                return ()
            self._work += len(waits[name])
            for after in waits[name]:
                if after == start:
                    return _walked(came_from, start, name)
                if after not in came_from:
                    came_from[after] = name
                    queue.append((after, length + 1))
        return ()


def _greedy(waits: Waits, able: frozenset[str]) -> tuple[str, ...]:
    """Again and again the one that the most ways lead through."""
    taken: list[str] = []
    while left := core(waits):
        before = _reversed(left)
        ways = {name: len(before[name]) * len(after) for name, after in left.items() if name in able}
        name = max(ways, key=ways.__getitem__)
        taken.append(name)
        waits = _without(left, name)
    return tuple(taken)


def _without_needless(waits: Waits, names: Iterable[str]) -> tuple[str, ...]:
    """Without those whom the others make needless; the last ones taken are tried first."""
    needed = list(names)
    for name in reversed(tuple(needed)):
        others = frozenset(needed) - {name}
        if not core(_only(waits, frozenset(waits) - others)):
            needed.remove(name)
    return tuple(needed)


def _walked(came_from: Mapping[str, str], start: str, last: str) -> tuple[str, ...]:
    walk = [last]
    while walk[-1] != start:
        walk.append(came_from[walk[-1]])
    return tuple(reversed(walk))


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
