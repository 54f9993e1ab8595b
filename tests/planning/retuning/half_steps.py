"""A judge of orders that shares nothing with them: every half step played out, and the fewest moves by trying all."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from itertools import combinations

from fleet.model.retune import StepKind
from fleet.planning.retuning.links import Link, Order, Room


def nearer_than(room: Room, one: Link, other: Link) -> int:
    """How near two links may come, and not nearer; 0 where they may meet."""
    if (one.place, other.place) in room.apart or (other.place, one.place) in room.apart:
        return 0
    return max(1, one.spacing_hz, other.spacing_hz)


class Stage:
    """Where each end stands, and where it is on its way to: until it has confirmed, it is on both."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.links = {link.link_id: link for link in room.links}
        self.ends = {link.link_id: {end.address: {end.frequency_hz} for end in link.ends} for link in room.links}
        self.asleep: set[str] = set()
        self.met_at_first = set(self.meetings())

    def meetings(self) -> Iterable[tuple[str, str]]:
        """Pairs that are nearer than they may be, by how they stand now."""
        for one, other in combinations(self.links.values(), 2):
            apart_hz = nearer_than(self.room, one, other)
            if any(abs(a - b) < apart_hz for a in self._on(one) for b in self._on(other)):
                yield one.link_id, other.link_id

    def strangers_met(self) -> bool:
        """Whether somebody who went somewhere is too near somebody outside the fleet."""
        return any(
            abs(hz - held.frequency_hz) < max(1, held.spacing_hz, link.spacing_hz)
            for link in self.links.values()
            for hz in self._on(link) - link.stands_hz
            for held in self.room.held
            if (link.place, held.place) not in self.room.apart and (held.place, link.place) not in self.room.apart
        )

    def _on(self, link: Link) -> set[int]:
        if link.link_id in self.asleep:
            return set()
        return set().union(*self.ends[link.link_id].values())

    def play(self, order: Order) -> None:
        """Play every half step; each must leave nobody on another's frequency who wasn't there at first."""
        for step in order.steps:
            if step.kind is StepKind.SLEEP:
                self.asleep.add(step.link_id)
                continue
            assert step.to_hz is not None
            if step.kind is StepKind.WAKE:  # Pack and frequency in one write, onto the new one.
                self.ends[step.link_id] = {address: {step.to_hz} for address in self.ends[step.link_id]}
                self.asleep.discard(step.link_id)
                self.judge()
                continue
            for end in step.ends:
                assert self.ends[step.link_id][end.address] == {end.frequency_hz}, "the step says where it comes from"
                self.ends[step.link_id][end.address] |= {step.to_hz}
                self.judge()
                self.ends[step.link_id][end.address] = {step.to_hz}
                self.judge()

    def judge(self) -> None:
        """Nobody is on one frequency with another who wasn't from the beginning."""
        assert set(self.meetings()) <= self.met_at_first
        assert not self.strangers_met()


def fewest_moves(room: Room) -> int | None:
    """The fewest single moves that bring everybody home, by trying every move from every state (small rooms only)."""
    links = room.links
    targets = tuple(link.target_hz for link in links)
    start = tuple(next(iter(link.stands_hz)) for link in links)
    places = sorted({*targets, *room.parking_hz})
    seen, queue = {start}, deque([(start, 0)])
    while queue:
        state, moves = queue.popleft()
        if state == targets:
            return moves
        for number, link in enumerate(links):
            for hz in places:
                if link.stays or hz == state[number] or not _may_go(room, state, number, hz):
                    continue
                after = (*state[:number], hz, *state[number + 1 :])
                if after not in seen:
                    seen.add(after)
                    queue.append((after, moves + 1))
    return None


def _may_go(room: Room, state: tuple[int, ...], number: int, hz: int) -> bool:
    link = room.links[number]
    others = ((other, state[i]) for i, other in enumerate(room.links) if i != number)
    if any(abs(hz - at) < nearer_than(room, link, other) for other, at in others):
        return False
    return all(abs(hz - held.frequency_hz) >= max(1, held.spacing_hz, link.spacing_hz) for held in room.held)
