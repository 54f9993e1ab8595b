"""What a device does when it is asked to act: the performance of each act that it may offer."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fleet.model.fields import Value
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import Act, Outcome
from simulator.offers import TONE_DBFS
from simulator.pack_control import PackControl
from simulator.performances import Performance
from simulator.rows import Row
from simulator.sweep import Span, Sweep, span_of
from simulator.world import World
from simulator.writes import Refused

_S = 1_000_000
_FINGERPRINT_LENGTH = 8
_HAND_WORDS = {
    "cable": "plug the pack into the receiver",
    "infrared": "hold the pack before the receiver's window",
    "hand": "set the pack by its own menu",
}


@dataclass(frozen=True, slots=True)
class Stage:
    """What the acts of one device work on. ``scans`` is the antenna of a scanner; ``restart`` is called at the end."""

    world: World
    packs: PackControl
    rows: tuple[Row, ...]
    scans: str
    restart: Callable[[], None]


class Repertoire:
    """The acts of one device."""

    def __init__(self, stage: Stage) -> None:
        self._stage = stage
        self._keys_made = 0

    def perform(self, order: Act) -> Performance | Refused:
        """What an order comes to, or why not; whether the device offers it was looked at before."""
        match order.act:
            case "identify":
                return self._identify(order)
            case "link":
                return self._link(order)
            case "scan":
                return self._scan(order)
            case "tone":
                return self._tone(order)
            case "restart":
                return Performance(lasts_us=_S // 10, finish=self._restarted, cancellable=False)
            case _:
                return self._key(order)

    # ------------------------------------------------------------ lamps, tones, restarts

    def _identify(self, order: Act) -> Performance | Refused:
        lasts_us = int(order.arguments.get("seconds", 5)) * _S
        return self._at_pack(order.target, Performance(lasts_us=lasts_us, words="its lamp blinks"))

    def _at_pack(self, address: str, performance: Performance) -> Performance | Refused:
        """Let an act at a pack wait until it is awake; nobody waits for one that can't be reached."""
        if address not in self._stage.packs.seats:
            return performance
        link = self._stage.packs.link(address)
        if not link.exists:
            return Refused(ErrorCode.UNREACHABLE, "the pack has no return link")
        if link.known.asleep:
            performance.state = "waiting for wake"
            performance.ready = lambda: link.reachable and not link.known.asleep
        elif not link.reachable:
            return Refused(ErrorCode.UNREACHABLE, "the return link brings no reply from the pack")
        return performance

    def _tone(self, order: Act) -> Performance:
        row = self._row(order.target)
        level_dbfs = float(order.arguments.get("level_dbfs", TONE_DBFS))

        def sound(level: float | None) -> None:
            if row is not None:
                self._stage.world.fronts[row.index].tone_dbfs = level
                self._stage.world.touch()

        lasts_us = int(order.arguments.get("seconds", 2)) * _S
        return Performance(
            lasts_us=lasts_us, words="a tone sounds", begin=lambda: sound(level_dbfs), clear=lambda: sound(None)
        )

    def _restarted(self) -> Mapping[str, Value]:
        self._stage.restart()
        return {}

    # ------------------------------------------------------------ links and keys

    def _row(self, address: str) -> Row | None:
        return next((row for row in self._stage.rows if address in {row.channel, row.carrier}), None)

    def _link(self, order: Act) -> Performance | Refused:
        row = self._row(order.target)
        if row is None:
            return Refused(ErrorCode.UNSUPPORTED, f"no pack can be linked at {order.target}")
        words = _HAND_WORDS.get(str(order.arguments["medium"]), "")

        def linked() -> Mapping[str, Value]:
            world, pack = self._stage.world, self._stage.world.packs[row.seat]
            front = world.fronts[row.index]
            pack.key = front.key
            pack.apply({"frequency_hz": front.carrier["frequency_hz"]})
            world.touch()
            return {"identity": row.pack}

        return Performance(
            lasts_us=3 * _S,
            state="waiting for a hand" if words else "accepted",
            words="linking",
            waiting_words=words,
            finish=linked,
            shows_progress=True,
        )

    def _key(self, order: Act) -> Performance | Refused:
        if order.act == "make_key":
            self._keys_made += 1
            fingerprint = self._stage.world.luck.word(f"key {self._keys_made} made for {order.target}")
        elif order.act == "set_key":
            key = str(order.arguments["key"])
            fingerprint = hashlib.sha256(key.encode()).hexdigest()[:_FINGERPRINT_LENGTH]
        else:
            fingerprint = ""

        def keyed() -> Mapping[str, Value] | Outcome:
            if not self._put_key(order.target, fingerprint):
                return Outcome(order.command_id, "unknown", "the pack did not reply")
            return {"key_fingerprint": fingerprint} if fingerprint else {}

        return self._at_pack(order.target, Performance(lasts_us=_S, finish=keyed, cancellable=False))

    def _put_key(self, address: str, fingerprint: str) -> bool:
        """Put a key into a channel or a pack; whether it is known to have arrived."""
        world, seat = self._stage.world, self._stage.packs.seats.get(address)
        row = self._row(address)
        if seat is not None:
            if not self._stage.packs.link(address).reachable:
                return False
            world.packs[seat.index].key = fingerprint
        elif row is not None:
            world.fronts[row.index].key = fingerprint
        world.touch()
        return True

    # ------------------------------------------------------------ scans

    def _scan(self, order: Act) -> Performance | Refused:
        span = span_of(order.arguments)
        if isinstance(span, Refused):
            return span
        world = self._stage.world
        numbers = {antenna.name: number for number, antenna in enumerate(world.scenario.antenna)}
        if self._stage.scans:
            quiet = min(zone.floor_dbm for zone in world.scenario.zone)
            return self._sweep(span, Sweep(world, span, numbers[self._stage.scans], quiet))
        row = self._row(order.target)
        if row is None:
            return Refused(ErrorCode.UNSUPPORTED, f"nothing can scan at {order.target}")
        floor_dbm = next(zone.floor_dbm for zone in world.scenario.zone if zone.name == row.receiver.zone)
        antenna = numbers[next(iter(row.receiver.antennas.values()))]
        own = [each.index for each in self._stage.rows if each.carrier == row.carrier]
        return self._sweep(span, Sweep(world, span, antenna, floor_dbm, row.branches[0]), own)

    def _sweep(self, span: Span, sweep: Sweep, rows: list[int] | None = None) -> Performance:
        """A scan; the rows of a receiver that scans hear nobody meanwhile."""

        def leave(*, away: bool) -> None:
            for row in rows or ():
                self._stage.world.fronts[row].away = away
            self._stage.world.touch()

        return Performance(
            lasts_us=span.lasts_us,
            words="scanning",
            begin=lambda: leave(away=True),
            levels=sweep.levels,
            clear=lambda: leave(away=False),
            shows_progress=True,
        )
