"""A walk among packings of one room: one carrier goes, another comes where that left a place, and again.

The number that stands falls by one only while a carrier is exchanged; wherever a place is left over, one more carrier
takes it. A walk that finds nothing new for long, or nothing to exchange, forgets a few carriers at once.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fleet.planning.coordination.vacancies import Vacancies

EXCHANGES = 25
"""So many carriers are exchanged in one stretch."""
PATIENCE = 100
"""So many stretches without one carrier more, then ``FORGOTTEN`` carriers go at once."""
FORGOTTEN = 4
STUCK = 4
"""So many stretches without even an exchange use up all patience."""
DRAWN = 1_024


class Luck:
    """Draws from a seeded generator, made many at a time: one by one they would cost more than what they decide."""

    def __init__(self, seed: int) -> None:
        self._draws = self._drawn(np.random.default_rng(seed))

    @staticmethod
    def _drawn(generator: np.random.Generator) -> Iterator[float]:
        while True:
            yield from generator.random(DRAWN).tolist()

    def below(self, many: int) -> int:
        """A whole number from 0 to ``many`` - 1."""
        return int(next(self._draws) * many)

    def bit(self, bits: int) -> int:
        """One bit that is set: the next one from a drawn place on, so that one after a gap is likelier."""
        above = bits >> (start := self.below(bits.bit_length()))
        return start + (above & -above).bit_length() - 1


class Walk:
    """One walk; ``kept`` carriers of what stood at first are never exchanged."""

    def __init__(self, room: Vacancies, asked: int, luck: Luck) -> None:
        self._room, self._asked, self._luck = room, asked, luck
        self._kept, self._idle = len(room.carriers), 0

    @property
    def carriers(self) -> tuple[int, ...]:
        """What stands, sorted."""
        return tuple(sorted(self._room.carriers))

    def begin(self, carriers: tuple[int, ...]) -> None:
        """Go on from other carriers, each where it breaks no rule; what stood at first stays."""
        for carrier in self._room.carriers[self._kept :]:
            self._room.take(carrier)
        for carrier in carriers:
            if len(self._room.carriers) < self._asked and self._room.is_vacant(carrier):
                self._room.add(carrier)
        self._fill(self._room.vacant())

    def stretch(self) -> tuple[int, ...]:
        """The fullest packing of one stretch."""
        if len(self._room.carriers) == self._kept:
            self._fill(self._room.vacant())
        best, moved = self.carriers, False
        for _ in range(EXCHANGES):
            if not self._kept < len(self._room.carriers) < self._asked:
                return best
            moved = self._exchange() or moved
            if len(self._room.carriers) > len(best):
                best, self._idle = self.carriers, 0
        self._idle += 1 if moved else PATIENCE // STUCK
        if self._idle > PATIENCE:
            self._forget()
        return best

    def _exchange(self) -> bool:
        """One carrier goes and another comes elsewhere, if it can; whether it could."""
        room = self._room
        gone = room.carriers[self._kept + self._luck.below(len(room.carriers) - self._kept)]
        room.take(gone)
        elsewhere = room.vacant() & ~(1 << room.bit(gone))
        if not elsewhere:
            room.add(gone)
            return False
        self._fill(elsewhere)
        return True

    def _fill(self, vacant: int) -> None:
        """Carriers come wherever luck puts them, the first onto one of the points given, until none fits."""
        while vacant and len(self._room.carriers) < self._asked:
            self._room.add(self._room.point(self._luck.bit(vacant)))
            vacant = self._room.vacant()

    def _forget(self) -> None:
        self._idle = 0
        for _ in range(min(FORGOTTEN, len(self._room.carriers) - self._kept)):
            many = len(self._room.carriers) - self._kept
            self._room.take(self._room.carriers[self._kept + self._luck.below(many)])
        self._fill(self._room.vacant())
