"""The ground of a search: which raster points are still free for a carrier of each group, given those that stand.

Blocking is exact: a point is free when a carrier there would break no rule, neither on itself nor on those that stand.
Carriers can be taken away again: the rooms that heard them are then laid anew.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from functools import partial

import numpy as np
from numpy.typing import NDArray

from fleet.planning.coordination.allowed import allowed_points, span_of
from fleet.planning.coordination.bits import bits_of_flags, points_in
from fleet.planning.coordination.noise import NoiseState
from fleet.planning.coordination.plan import Carrier, guards_of, strangers_of
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.room_state import RoomState
from fleet.planning.coordination.rooms import Party, Room, parties_of, rooms_of

Points = NDArray[np.int64]


class Ground:
    """Raster points of a request; changed only by ``add`` and ``remove``.

    ``extra`` steps are asked on top of every spacing and guard: that is how a better margin is looked for.
    """

    def __init__(self, request: Request, extra: int = 0) -> None:
        span, parties = span_of(request), parties_of(request)
        # Products just outside the span reach into it.
        pad = extra + max(max([each.needs.spacing, *guards_of(each.needs).values()]) for each in parties)
        self.request = request
        self.carriers: list[Carrier] = []
        self._first = span.start - pad
        self._allowed = [bits_of_flags(allowed_points(request, each, span)) << pad for each in request.group]
        self._rooms = rooms_of(request, parties)
        self._of_party = [
            [number for number, room in enumerate(self._rooms) if party in room.heard] for party in range(len(parties))
        ]
        self._new_room = partial(_new_room, parties, len(span) + 2 * pad, extra)
        self._strangers = strangers_of(request)
        self._states = [self._laid(room, ()) for room in self._rooms]

    def copy(self) -> Ground:
        """A ground that goes its own way from here."""
        twin = copy(self)
        twin.carriers = list(self.carriers)
        twin._states = [(state.copy(), noise.copy()) for state, noise in self._states]
        return twin

    def free(self, group: int) -> Points:
        """The points where one more carrier of a group breaks no rule."""
        bits = self._free_bits(group)
        if not bits:
            return np.zeros(0, dtype=np.int64)
        found = points_in(bits)
        for number in self._of_party[group]:
            noise = self._states[number][1]
            if noise.asking:
                found = found[noise.free(group)[found]]
        return found + self._first

    def unshared(self, group: int) -> Points:
        """The points where a carrier of a group would leave no place to some other group, though none stands yet."""
        bits = 0
        for number in self._of_party[group]:
            bits |= self._states[number][0].unshared
        return points_in(bits) + self._first if bits else np.zeros(0, dtype=np.int64)

    def room_left(self, group: int) -> int:
        """How many points are free for a group, as far as nothing counts as noise."""
        return self._free_bits(group).bit_count()

    def is_free(self, carrier: Carrier) -> bool:
        """Whether a carrier may stand where it wants to."""
        point = carrier.point - self._first
        if point < 0 or not self._free_bits(carrier.group) >> point & 1:
            return False
        noises = [self._states[number][1] for number in self._of_party[carrier.group]]
        return all(bool(noise.free(carrier.group)[point]) for noise in noises if noise.asking)

    def add(self, carrier: Carrier) -> None:
        """Let a carrier stand."""
        for number in self._of_party[carrier.group]:
            state, noise = self._states[number]
            state.add(carrier.group, carrier.point - self._first)
            noise.add(carrier.group, carrier.point - self._first)
        self.carriers.append(carrier)

    def remove(self, gone: Iterable[Carrier]) -> None:
        """Take carriers away that stand."""
        taken = set(gone)
        self.carriers = [each for each in self.carriers if each not in taken]
        for number in {number for each in taken for number in self._of_party[each.group]}:
            self._states[number] = self._laid(self._rooms[number], self.carriers)

    def _free_bits(self, group: int) -> int:
        bits = self._allowed[group]
        for number in self._of_party[group]:
            bits &= ~self._states[number][0].blocked[group]
        return bits

    def _laid(self, room: Room, carriers: Iterable[Carrier]) -> tuple[RoomState, NoiseState]:
        state, noise = self._new_room(room)
        for carrier in (*self._strangers, *carriers):
            if carrier.group in room.heard:
                state.add(carrier.group, carrier.point - self._first)
                noise.add(carrier.group, carrier.point - self._first)
        return state, noise


def _new_room(parties: tuple[Party, ...], size: int, extra: int, room: Room) -> tuple[RoomState, NoiseState]:
    return RoomState(room, parties, size, extra), NoiseState(room, parties, size)
