"""How long each pack must still last, whether it will, and where its cells could be swapped.

Minutes are counted as an awake pack spends them: of the time asleep only the share counts that a sleeping pack draws.
Margins and shares are common practice and stand in the production's ``practice``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.running_order import Cue
from fleet.model.show import ShowPlace
from fleet.planning.show_times import CueTime, cue_times

_US_PER_MINUTE = 60_000_000


@dataclass(frozen=True, slots=True)
class Span:
    """A time on the monotonic scale."""

    begins_us: int
    ends_us: int


@dataclass(frozen=True, slots=True)
class Gap:
    """A time in which a row is off air, on the monotonic scale: after one of its cues and before another.

    ``after_cue`` is None when the row is off air already.
    """

    begins_us: int
    ends_us: int
    after_cue: str | None
    before_cue: str


def minutes_needed(production: Production, show: ShowPlace, pack: str, at: Moment) -> float | None:
    """The minutes for which a pack's cells must still last: to its last cue, or its planned swap, and a margin.

    None where there is no running order or the production doesn't know the pack; 0 when nothing of it is left to come.
    """
    position = next((position for position in production.positions if position.pack == pack), None)
    if position is None or not production.order.cues:
        return None
    return Runways(production, show, at).needed_min.get(position.number, 0.0)


def entering(before: Cue | None, cue: Cue) -> tuple[int, ...]:
    """Who is on air in a cue and wasn't in the one before it."""
    known = frozenset(() if before is None else before.on_air)
    return tuple(number for number in cue.on_air if number not in known)


class Runways:
    """The runways of all rows at one moment.

    ``times`` are the cues to come. ``needed_min`` are the minutes for which the cells of each row that has something to
    come must still last, by its number; a swap of cells that is planned ends the need of the cells of now.
    """

    def __init__(self, production: Production, show: ShowPlace, at: Moment) -> None:
        self.times = cue_times(production.order, show, at)
        self._at_us = at.monotonic_us
        self._cues_of: dict[int, list[CueTime]] | None = None
        self._drain = production.practice.asleep_drain_fraction
        self._rests = _rests(production, self.times)
        margin_min = production.practice.swap_margin_min
        self._last = dict(_last_on_air(production, self.times))
        self.needed_min: Mapping[int, float] = {
            number: self._spent_min(number, time.ends_us) + margin_min for number, time in self._last.items()
        }

    def _spent_min(self, number: int, until_us: int) -> float:
        """What a row's pack spends from now until then, in minutes of an awake pack."""
        asleep_us = sum(
            max(0, min(span.ends_us, until_us) - max(span.begins_us, self._at_us))
            for span in self._rests.get(number, ())
        )
        return (max(0, until_us - self._at_us) - asleep_us * (1.0 - self._drain)) / _US_PER_MINUTE

    def runs_out_us(self, number: int, minutes_left: float) -> int:
        """When the cells of a row's pack will be empty, on the monotonic scale, if it sleeps when it is planned to."""
        left_us, now_us = minutes_left * _US_PER_MINUTE, self._at_us
        for span in self._rests.get(number, ()):
            begins_us, ends_us = max(span.begins_us, now_us), max(span.ends_us, now_us)
            awake_us, asleep_us = begins_us - now_us, (ends_us - begins_us) * self._drain
            if left_us <= awake_us:
                break
            if left_us <= awake_us + asleep_us:
                return begins_us + round((left_us - awake_us) / self._drain)
            left_us -= awake_us + asleep_us
            now_us = ends_us
        return now_us + round(left_us)

    def swap_gap(self, number: int, until_us: int) -> Gap | None:
        """The gap in which a row is off air longest, between now and ``until_us``; None without any.

        Of a gap that reaches beyond ``until_us`` only the part before it counts.
        """
        return max(
            self._gaps(number, until_us), key=lambda gap: min(gap.ends_us, until_us) - gap.begins_us, default=None
        )

    def _on_air(self) -> dict[int, list[CueTime]]:
        """The cues of each row, made once for all that ask."""
        if self._cues_of is None:
            self._cues_of = {}
            for time in self.times:
                for number in time.cue.on_air:
                    self._cues_of.setdefault(number, []).append(time)
        return self._cues_of

    def _gaps(self, number: int, until_us: int) -> Iterator[Gap]:
        """Every stretch off air that ends with a cue of the row's and begins before ``until_us``."""
        begins_us, after = self._at_us, None
        for time in self._on_air().get(number, ()):
            if begins_us >= until_us:
                return
            if time.starts_us > begins_us:
                yield Gap(begins_us, time.starts_us, after, time.cue.cue_id)
            begins_us, after = time.ends_us, time.cue.cue_id


def _last_on_air(production: Production, times: Iterable[CueTime]) -> dict[int, CueTime]:
    """The last cue of each row, or the last before its planned swap."""
    swaps: dict[str, set[int]] = {}
    for swap in production.order.swaps:
        swaps.setdefault(swap.cue, set()).update(swap.numbers)
    last: dict[int, CueTime] = {}
    swapped: set[int] = set()
    for time in times:
        swapped |= swaps.get(time.cue.cue_id, set())
        here = time.cue.on_air if not swapped else [number for number in time.cue.on_air if number not in swapped]
        last.update(dict.fromkeys(here, time))
    return last


def _rests(production: Production, times: tuple[CueTime, ...]) -> dict[int, list[Span]]:
    """When each row's pack is planned to sleep from now on, in order."""
    found: dict[int, list[Span]] = {}
    if not times:
        return found
    starts = {time.cue.cue_id: time.starts_us for time in times}
    for sleep in production.order.sleeps:
        begun = sleep.from_cue not in starts
        if begun and sleep.until_cue is not None and sleep.until_cue not in starts:
            continue  # It is over.
        begins_us = times[0].starts_us if begun else starts[sleep.from_cue]
        ends_us = times[-1].ends_us if sleep.until_cue is None else starts[sleep.until_cue]
        for number in sleep.numbers:
            found.setdefault(number, []).append(Span(begins_us, ends_us))
    return {number: sorted(spans, key=lambda span: span.begins_us) for number, spans in found.items()}
