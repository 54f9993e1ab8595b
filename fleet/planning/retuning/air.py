"""Who is on which frequency while links move one after the other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from fleet.planning.retuning.links import Held, Link, Room


class Air:
    """The frequencies that each link is on; a link that sleeps is on none.

    Frequencies are kept in bins as wide as the widest spacing, so that whoever is too near is in three of them.
    """

    def __init__(self, room: Room) -> None:
        self._room = room
        self._links = {link.link_id: link for link in room.links}
        spacings_hz = [*(link.spacing_hz for link in room.links), *(held.spacing_hz for held in room.held)]
        self._bin_hz = max(1, *spacings_hz) if spacings_hz else 1
        self._on: dict[str, frozenset[int]] = {}
        self._now: dict[int, dict[str, None]] = defaultdict(dict)
        self._wanted: dict[int, list[str]] = defaultdict(list)
        self._held: dict[int, list[Held]] = defaultdict(list)
        self._parking: dict[tuple[str, int], tuple[int, ...]] = {}
        for link in room.links:
            self.put(link.link_id, link.stands_hz)
            self._wanted[self._bin(link.target_hz)].append(link.link_id)
        for held in room.held:
            self._held[self._bin(held.frequency_hz)].append(held)

    def on_hz(self, link_id: str) -> frozenset[int]:
        """The frequencies that a link is on now."""
        return self._on[link_id]

    def put(self, link_id: str, frequencies_hz: Iterable[int]) -> None:
        """A link is on these from now on, and on no other."""
        for hz in self._on.get(link_id, ()):
            self._now[self._bin(hz)].pop(link_id, None)
        self._on[link_id] = frozenset(frequencies_hz)
        for hz in self._on[link_id]:
            self._now[self._bin(hz)][link_id] = None

    def in_the_way(self, link: Link, frequency_hz: int) -> tuple[str, ...]:
        """The other links that are too near a frequency for this one to go there now."""
        found = dict.fromkeys(name for place in self._bins(frequency_hz) for name in self._now.get(place, ()))
        return tuple(name for name in found if self._is_near(link, name, self._on[name], frequency_hz))

    def wanting(self, frequency_hz: int) -> tuple[str, ...]:
        """The links that want to go to about that frequency, some of them perhaps not quite so near."""
        return tuple(name for place in self._bins(frequency_hz) for name in self._wanted.get(place, ()))

    def strangers(self, link: Link, frequency_hz: int) -> tuple[Held, ...]:
        """Those outside the fleet that are too near a frequency for this link to be there."""
        near = (held for place in self._bins(frequency_hz) for held in self._held.get(place, ()))
        return tuple(held for held in near if self._disturbs(link, held, held.frequency_hz, frequency_hz))

    def parking(self, link: Link) -> int | None:
        """The best frequency on which this link may wait now, in nobody's way then or later; None without one."""
        for hz in self._nobodys(link):
            free = hz not in self._on[link.link_id] and not self.in_the_way(link, hz)
            if free and self._room.tunes(link.link_id, hz):
                return hz
        return None

    def _nobodys(self, link: Link) -> tuple[int, ...]:
        """Where somebody of that place and spacing may park for all who want to go somewhere, and all strangers."""
        alike = (link.place, link.spacing_hz)
        if alike not in self._parking:
            self._parking[alike] = tuple(hz for hz in self._room.parking_hz if self._is_nobodys(link, hz))
        return self._parking[alike]

    def _is_nobodys(self, link: Link, hz: int) -> bool:
        if self.strangers(link, hz):
            return False
        wanted = (self._links[name] for name in self.wanting(hz))
        return not any(self._disturbs(link, other, other.target_hz, hz) for other in wanted)

    def _is_near(self, link: Link, other_id: str, others_hz: Iterable[int], hz: int) -> bool:
        if other_id == link.link_id:
            return False
        other = self._links[other_id]
        return any(self._disturbs(link, other, other_hz, hz) for other_hz in others_hz)

    def _disturbs(self, link: Link, other: Link | Held, other_hz: int, hz: int) -> bool:
        apart = self._room.apart
        if (link.place, other.place) in apart or (other.place, link.place) in apart:
            return False
        return abs(other_hz - hz) < max(1, link.spacing_hz, other.spacing_hz)

    def _bin(self, hz: int) -> int:
        return hz // self._bin_hz

    def _bins(self, hz: int) -> range:
        middle = self._bin(hz)
        return range(middle - 1, middle + 2)
