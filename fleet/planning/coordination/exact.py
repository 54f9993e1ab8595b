"""The shortest sets of marks by exhaustive search: a proof for small numbers, and a measure of what a search finds.

Marks are raster points from 0 on, in units of the guard. Which sets count is a rule: no mark is hit by a product of
the families asked for. Every stretch of such a set is one again, mirrored too; so marks can't lie further up than
leaves room for the shortest sets of what is to come, and of a set and its mirror image only the one whose middle lies
low is tried.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum, auto
from itertools import pairwise

MARKS_MAXIMUM = 16
"""Above it nobody waits for the end: each mark costs about ten times the one before."""


class Free(Enum):
    """Which products hit no mark.

    In words of sets: no three marks in equal steps; all differences differ (a Golomb ruler); all sums of three differ.
    """

    OF_TWO_SIGNAL_THIRD = auto()
    OF_THIRD = auto()
    OF_THIRD_AND_FIFTH = auto()


@dataclass(frozen=True, slots=True)
class _Laid:
    """Marks laid so far, seen from the last: bit d of ``behind`` is a mark d lower, of ``blocked`` a place d higher.

    ``differences`` are those of all marks.
    """

    behind: int = 0
    differences: int = 0
    blocked: int = 1

    def beyond(self, step: int, rule: Free) -> _Laid:
        """With one more mark, a step higher.

        Where all differences must differ, a place is blocked when its difference to the last mark is there already;
        differences to the marks before were blocked from there, and are shifted along.
        """
        behind = (self.behind | 1) << step
        if rule is Free.OF_TWO_SIGNAL_THIRD:
            return _Laid(behind, 0, self.blocked >> step | behind | 1)
        differences = self.differences | behind
        return _Laid(behind, differences, self.blocked >> step | differences | 1)


@dataclass(slots=True)
class _Search:
    """One exhaustive search; ``spans`` holds the proved lengths for fewer marks, ``limit`` what must be undercut."""

    rule: Free
    marks: int
    spans: list[int]
    limit: int
    best: tuple[int, ...] = ()
    _highest: list[int] = field(default_factory=list)

    def run(self) -> tuple[int, ...]:
        """The shortest set, its first mark 0."""
        self._set_limit(self.limit)
        self._go_on((0,), _Laid())
        return self.best

    def _set_limit(self, limit: int) -> None:
        """From now on only lengths below ``limit``: how high each mark may lie then."""
        self.limit, last, middle = limit, self.marks - 1, (self.marks - 1) // 2
        half = (limit - 1) // 2 if self.marks % 2 else (limit - 2) // 2
        self._highest = [0, *(limit - 1 - self.spans[last - index] for index in range(1, self.marks))]
        for index in range(1, middle + 1):
            self._highest[index] = min(self._highest[index], half - self.spans[middle - index])

    def _go_on(self, laid: tuple[int, ...], state: _Laid) -> None:
        index, at = len(laid), laid[-1]
        places = ~state.blocked
        while (room := self._highest[index] - at) > 0:
            places &= (2 << room) - 1
            if not places:
                return
            step = (places & -places).bit_length() - 1
            places &= places - 1
            longer = (*laid, at + step)
            if self.rule is Free.OF_THIRD_AND_FIFTH and not _sums_of_three_differ(longer):
                continue
            if index == self.marks - 1:
                self.best = longer
                self._set_limit(at + step)
                return
            self._go_on(longer, state.beyond(step, self.rule))


def shortest(rule: Free, marks: int) -> tuple[int, ...]:
    """A set of that many marks than which none is shorter, proved by trying all: from 0 to the length.

    Raises ValueError for less than one mark or more than ``MARKS_MAXIMUM``.
    """
    if not 1 <= marks <= MARKS_MAXIMUM:
        raise ValueError(f"an exhaustive search takes 1 to {MARKS_MAXIMUM} marks, not {marks}")
    spans: list[int] = [0]
    found: tuple[int, ...] = (0,)
    for count in range(2, marks + 1):
        found = _Search(rule, count, spans, _safe_limit(rule, count)).run()
        spans.append(found[-1])
    return found


def _safe_limit(rule: Free, marks: int) -> int:
    """A length that some set surely undercuts: that of the set which takes each next place that it can."""
    laid = [0]
    while len(laid) < marks:
        state = _Laid()
        for lower, upper in pairwise(laid):
            state = state.beyond(upper - lower, rule)
        step = 1
        while state.blocked >> step & 1 or (
            rule is Free.OF_THIRD_AND_FIFTH and not _sums_of_three_differ((*laid, laid[-1] + step))
        ):
            step += 1
        laid.append(laid[-1] + step)
    return laid[-1] + 1


def _sums_of_three_differ(marks: tuple[int, ...]) -> bool:
    """Whether no sum of three that takes the last mark is any other sum of three; the rest was tried before."""
    last, once, twice, thrice = marks[-1], 0, 0, 0
    for mark in marks[:-1]:
        once |= 1 << mark
        twice |= once << mark
        thrice |= twice << mark
    seen = thrice
    for more in (twice << last, once << 2 * last, 1 << 3 * last):
        if seen & more:
            return False
        seen |= more
    return True
