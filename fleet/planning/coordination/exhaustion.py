"""All packings of one room tried in turn, a stretch at a time: in small rooms a proof that none holds more.

Carriers are added from below. Every part of a sound packing is sound, so what breaks a rule already is not gone on
with; nor is what would not be more than the best, even if all that is still vacant were bound by spacing alone, or
by the length that so many different differences take.
"""

from __future__ import annotations

from fleet.planning.coordination.vacancies import Vacancies

TRIED = 200
"""So many carriers are added and taken away again in one stretch."""


class Exhaustion:
    """A search through all packings of a room, from what stands in it on; ``done`` when all were tried."""

    def __init__(self, room: Vacancies, asked: int) -> None:
        self._room, self._asked = room, asked
        self._open = [room.vacant()]
        self.done = False

    def stretch(self, than: int) -> tuple[int, ...]:
        """Go on looking for more than so many carriers; the fullest packing of this stretch, or none."""
        room, best = self._room, tuple[int, ...]()
        for _ in range(TRIED):
            most = max(than, len(best))
            while self._open and not self._is_worth_it(self._open[-1], most):
                self._close()
            if not self._open or most >= self._asked:
                self.done = True
                return best
            lowest = self._open[-1] & -self._open[-1]
            self._open[-1] ^= lowest
            room.add(room.point(lowest.bit_length() - 1))
            if len(room.carriers) > most:
                best = tuple(sorted(room.carriers))
            self._open.append(room.vacant() & self._open[-1])
        return best

    def _close(self) -> None:
        """Nothing more is to be found with the last carrier."""
        self._open.pop()
        if self._open:
            self._room.take(self._room.carriers[-1])

    def _is_worth_it(self, vacant: int, most: int) -> bool:
        """Whether more carriers than ``most`` might stand at last: there is the length for them, and the places."""
        missing = most + 1 - len(self._room.carriers)
        added = len(self._open) > 1
        lowest = self._room.bit(self._room.carriers[-1]) if added else (vacant & -vacant).bit_length() - 1
        if vacant.bit_length() - 1 - lowest < self._length(missing + added):
            return False
        while missing > 0 and vacant:
            vacant &= -1 << (vacant & -vacant).bit_length() - 1 + self._room.guards.beside
            missing -= 1
        return missing <= 0

    def _length(self, carriers: int) -> int:
        """So many carriers are no shorter: their differences are the spacing at least, and the guard apart."""
        guards, differences = self._room.guards, carriers * (carriers - 1) // 2
        counted = guards.beside + guards.three * (differences - 1) if differences else 0
        return max(counted, guards.beside * (carriers - 1))
