"""The packs that a device controls over their return links: what it knows of them, and what it sends them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fleet.model.fields import Value
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import LayoutEntry
from simulator.gear import Exact, Reading
from simulator.meters import Meters
from simulator.return_link import News, ReturnLink, Withdrawn
from simulator.rows import Seat
from simulator.world import World
from simulator.writes import WAITING_MAXIMUM, Refused, Reply, Taken, WaitingWrite

BUSY_RETRY_S = 1.0
# What a pack said of itself is no longer good to act on when two of its reports are missing. How it took its leave is
# what the receiver knows, and stays good until the pack is heard again.
UNHEARD_US = 2_000_000
PACK_SAID = ["battery_v", "battery_fraction", "battery_minutes", "switch", "asleep", "input_overload"]
_PACK = [*PACK_SAID, "goodbye", "return_link", "last_seen_s"]


class PackControl:
    """One device's packs, by address. News of them waits until it is taken."""

    def __init__(self, world: World, seats: Sequence[Seat]) -> None:
        self.seats = {seat.address: seat for seat in seats}
        self._world = world
        self._links = {seat.address: world.links[seat.index] for seat in seats}
        self._pairs = tuple((seat, self._links[seat.address]) for seat in seats)
        self._waiting: dict[str, WaitingWrite] = {}
        self._news: list[tuple[str, News]] = []
        self._told: list[tuple[int | None, str | None]] = []
        self._exact: Exact = {}

    def link(self, address: str) -> ReturnLink:
        """The return link of the pack at that address, which is one of these."""
        return self._links[address]

    def known(self) -> dict[str, dict[str, Value]]:
        """The settings of every pack as last told."""
        return {address: link.known_settings for address, link in self._links.items()}

    def forget(self) -> None:
        """Lose what is under way, as a device does when it restarts."""
        self._waiting.clear()
        self._news.clear()
        for link in self._links.values():
            link.forget()

    # ------------------------------------------------------------ what was set

    def advance(self, now_us: int) -> list[tuple[str, News]]:
        """Take in what came over the links, send what waited; the news of it."""
        for address, link in self._links.items():
            if link.has_news:
                self._news += [(address, news) for news in link.take_news()]
            if self._waiting and link.exists and not link.known.asleep:
                self._send_waiting(address, link, now_us)
        return self.take_news()

    def take_news(self) -> list[tuple[str, News]]:
        """What is new since it was last asked."""
        if not self._news:
            return []
        news, self._news = self._news, []
        return news

    def _send_waiting(self, address: str, link: ReturnLink, now_us: int) -> None:
        due = [each for each in self._waiting.values() if each.address == address and not each.for_hand]
        for write in due:
            if link.full:
                return  # The rest goes with one of the next blocks.
            del self._waiting[write.command_id]
            link.send(write.command_id, write.changes, now_us, write.seen)

    def why_unreadable(self, address: str) -> Refused | None:
        """Why a pack's settings can't be told for certain now, or None when they can."""
        link = self._links[address]
        if link.busy:
            return Refused(ErrorCode.BUSY, "a request to the pack is under way", {"retry_after_s": BUSY_RETRY_S})
        if any(write.address == address for write in self._waiting.values()):
            return Refused(ErrorCode.BUSY, "a write waits for the pack", {"retry_after_s": BUSY_RETRY_S})
        if not (link.reachable or link.told_by_carrier):
            return Refused(ErrorCode.UNREACHABLE, "the return link brings no reply from the pack")
        return None

    def must_wait(self, address: str, changes: Mapping[str, Value]) -> bool:
        """Whether a write has to wait for the pack to wake."""
        return self._links[address].known.asleep and "standby" not in changes

    def send(self, address: str, command_id: str, changes: Mapping[str, Value], now_us: int) -> Reply:
        """Send a write to a pack that is awake, unless another is under way."""
        if self._links[address].busy:
            return Refused(ErrorCode.BUSY, "a request to the pack is under way", {"retry_after_s": BUSY_RETRY_S})
        self._links[address].send(command_id, changes, now_us)
        return Taken("accepted")

    def keep(self, address: str, command_id: str, changes: Mapping[str, Value], *, for_hand: bool = False) -> Reply:
        """Keep a write until its pack wakes or a hand does it; a newer one takes the place of those it covers."""
        superseded = [
            write for write in self._waiting.values() if write.address == address and set(write.changes) <= set(changes)
        ]
        if len(self._waiting) - len(superseded) >= WAITING_MAXIMUM:
            return Refused(ErrorCode.BUSY, "too many writes wait for packs", {"retry_after_s": BUSY_RETRY_S})
        for write in superseded:
            self._withdraw(write.command_id, "a newer write took its place")
        known = self._links[address].known_settings
        seen = {name: known[name] for name in changes}
        self._waiting[command_id] = WaitingWrite(command_id, address, changes, seen, for_hand)
        return Taken("waiting for a hand" if for_hand else "waiting for wake")

    def hand(self, address: str) -> int:
        """A hand does at a pack what writes wait for; how many there were."""
        done = [write for write in self._waiting.values() if write.address == address and write.for_hand]
        for write in done:
            del self._waiting[write.command_id]
            self._links[address].set_by_hand(write.command_id, write.changes)
        if done:
            self._world.touch()
        return len(done)

    def cancel(self, command_id: str) -> bool:
        """Give up a write that waits; whether there was one."""
        if command_id not in self._waiting:
            return False
        self._withdraw(command_id, "")
        return True

    def _withdraw(self, command_id: str, reason: str) -> None:
        write = self._waiting.pop(command_id)
        self._news.append((write.address, Withdrawn(command_id, reason)))

    # ------------------------------------------------------------ what they say

    def layout(self) -> list[LayoutEntry]:
        """The order of their readings."""
        return [LayoutEntry(address, _PACK) for address in self.seats]

    def readings(self, meters: Meters, now_us: int) -> tuple[list[Reading], list[int]]:
        """Their values, and the places of those that are only what was known last."""
        values: list[Reading] = []
        uncertain: list[int] = []
        for seat, link in self._pairs:
            unseen_us = now_us - link.last_seen_us
            if unseen_us > UNHEARD_US:
                uncertain += range(len(values), len(values) + len(PACK_SAID))
            heard = False
            for row in seat.rows:
                heard = heard or meters.heard[row] == seat.index
            values += _pack_values(link, 0 if heard else unseen_us, clips=heard and meters.input_overload[seat.index])
        return values, uncertain

    def exact(self, now_us: int) -> Exact:
        """What they said that is text or an exact integer, withdrawn when they aren't heard."""
        told = [_told(link, now_us) for _, link in self._pairs]
        if told != self._told:
            self._told = told
            self._exact = {
                seat.address: {"reported_frequency_hz": frequency_hz, "key_fingerprint": key}
                for (seat, _), (frequency_hz, key) in zip(self._pairs, told, strict=True)
            }
        return self._exact


def _told(link: ReturnLink, now_us: int) -> tuple[int | None, str | None]:
    """Its frequency and its key as it told them, while it is heard."""
    if now_us - link.last_seen_us > UNHEARD_US:
        return None, None
    return link.known.frequency_hz, link.known.key or None


def _pack_values(link: ReturnLink, unseen_us: int, *, clips: bool) -> tuple[Reading, ...]:
    said = link.known
    return (
        said.battery_v,
        said.battery_fraction,
        said.battery_minutes,
        said.switch,
        said.asleep,
        clips,
        said.goodbye,
        round(link.quality, 1) if link.exists else None,
        round(unseen_us / 1e6, 1),
    )
