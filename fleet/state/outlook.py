"""What lies ahead of the evening, looked at once a second, and what that means for the rows now."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.model.address import Place
from fleet.model.ahead import Ahead, CueAhead, Rest, RestPhase, Runway, SwapGap
from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.show import ShowPhase, ShowPlace, on_air_numbers
from fleet.planning.runway import Gap, Runways, entering
from fleet.planning.show_times import CueTime, late_s
from fleet.readings import LiveTables
from fleet.row_map import RowMap
from fleet.show_rows import ShowNow, ShowRows, show_rows
from fleet.state.wakes import Due, WakeBook, pack_words
from fleet.topology import Topology

LOOK_EVERY_US = 1_000_000
SHOW_EVERY_US = 5_000_000
"""How often times and minutes that slide by themselves are shown anew; what somebody did is shown at once."""
_US_PER_MINUTE = 60_000_000


class Outlook:
    """Looks ahead from the production and the place of the show clock, over the packs' own words."""

    def __init__(self, tables: LiveTables) -> None:
        self._tables = tables
        self._wakes = WakeBook()
        self._known: tuple[Production, ShowPlace] | None = None
        self._looked_us = 0
        self._shown_us = 0
        self._now: ShowNow | None = None
        self._rows: tuple[RowMap, ShowNow | None, ShowRows] | None = None
        self.ahead = Ahead()

    def look(self, at: Moment, production: Production, show: ShowPlace) -> None:
        """Look ahead, if a second has passed or something was done."""
        done = self._known is None or self._known[0] is not production or self._known[1] is not show
        if not done and at.monotonic_us - self._looked_us < LOOK_EVERY_US:
            return
        self._known, self._looked_us = (production, show), at.monotonic_us
        runways = Runways(production, show, at)
        rests, due = self._resting(at, production, show, runways.times)
        self._now = _now(at, production, show, runways, (rests, due))
        slid = at.monotonic_us - self._shown_us >= SHOW_EVERY_US
        if done or slid or _standing(rests) != _standing(self.ahead.rests):
            self._shown_us = at.monotonic_us
            ahead = self._ahead(at, production, show, runways, rests)
            self.ahead = self.ahead if ahead == self.ahead else ahead

    def over_rows(self, topology: Topology, rows: RowMap) -> ShowRows:
        """What holds now over the rows; the same object until something changed."""
        known = self._rows
        if known is None or known[0] is not rows or known[1] is not self._now:
            known = self._rows = (rows, self._now, show_rows(topology, self._tables, self._now))
        return known[2]

    def _resting(
        self, at: Moment, production: Production, show: ShowPlace, times: Sequence[CueTime]
    ) -> tuple[tuple[Rest, ...], tuple[Due, ...]]:
        if show.cue_id is None or not times:
            self._wakes.forget()
            return (), ()
        words = pack_words(self._tables)
        rests = self._wakes.rests(at, production, times, words)
        return rests, self._wakes.due(at, production, times, words, rests)

    def _ahead(
        self, at: Moment, production: Production, show: ShowPlace, runways: Runways, rests: tuple[Rest, ...]
    ) -> Ahead:
        late = late_s(production.order, show, at)
        left = _minutes_left(self._tables)
        look = _Look(at, runways, bool(production.order.cues))
        return Ahead(
            show=show,
            late_s=None if late is None else round(late),
            on_air=tuple(sorted(on_air_numbers(production, show))),
            cues=_cues(at, runways.times),
            rests=rests,
            runways=tuple(
                _runway(position.number, left.get(position.pack), look)
                for position in production.positions
                if position.pack is not None and not position.spare
            ),
        )


@dataclass(frozen=True, slots=True)
class _Look:
    at: Moment
    runways: Runways
    with_order: bool


def _minutes_left(tables: LiveTables) -> dict[str, float]:
    """What each pack itself says; a pack that says nothing, or not lately, is left out."""
    table = tables[Place.PACK]
    minutes = table.good("battery_minutes").tolist()
    return {pack: left for pack, left in zip(table.addresses, minutes, strict=True) if not math.isnan(left)}


def _runway(number: int, left: float | None, look: _Look) -> Runway:
    whole = None if left is None else int(left)
    if not look.with_order:
        return Runway(number, whole)
    needed = look.runways.needed_min.get(number, 0.0)
    if left is None or left >= needed:
        return Runway(number, whole, math.ceil(needed), None if left is None else 0)
    out_us = look.runways.runs_out_us(number, left)
    gap = look.runways.swap_gap(number, out_us)
    return Runway(
        number=number,
        minutes_left=whole,
        minutes_needed=math.ceil(needed),
        minutes_short=max(1, round(needed - left)),
        ends_utc_us=_utc_us(look.at, out_us),
        ends_in_cue=_cue_at(look.runways.times, out_us),
        swap=None if gap is None else _swap(look.at, gap),
    )


def _cue_at(times: Sequence[CueTime], at_us: int) -> str | None:
    return next((time.cue.cue_id for time in times if time.starts_us <= at_us < time.ends_us), None)


def _now(
    at: Moment,
    production: Production,
    show: ShowPlace,
    runways: Runways,
    sleep: tuple[tuple[Rest, ...], tuple[Due, ...]],
) -> ShowNow | None:
    if not production.order.cues:
        return None
    rests, due = sleep
    on_air = on_air_numbers(production, show)
    resting = {rest.number for rest in rests if _is_quiet(rest) and rest.number not in on_air}
    return ShowNow(
        on_air=on_air,
        resting=resting,
        # Before the show cells are still being changed: what the evening needs is shown and raises nothing.
        needed_min=None if show.phase is ShowPhase.BEFORE else runways.needed_min,
        wake_overdue_s={one.pack: (at.monotonic_us - one.since_us) / 1_000_000 for one in due},
    )


def _standing(rests: Sequence[Rest]) -> list[tuple[str, int, RestPhase, bool]]:
    """How each sleep stands, without the times that slide."""
    return [(rest.sleep_id, rest.number, rest.phase, rest.confirmed) for rest in rests]


def _is_quiet(rest: Rest) -> bool:
    """Whether a pack sleeps by plan: then its silence is no alarm, not even before it confirms its wake."""
    return rest.phase is RestPhase.RESTING or (rest.phase is RestPhase.WAKING and not rest.confirmed)


def _cues(at: Moment, times: Sequence[CueTime]) -> tuple[CueAhead, ...]:
    befores = (None, *(time.cue for time in times))
    return tuple(
        CueAhead(time.cue.cue_id, _utc_us(at, time.starts_us), _utc_us(at, time.ends_us), entering(before, time.cue))
        for before, time in zip(befores, times, strict=False)
    )


def _swap(at: Moment, gap: Gap) -> SwapGap:
    minutes = (gap.ends_us - gap.begins_us) // _US_PER_MINUTE
    return SwapGap(gap.after_cue, gap.before_cue, _utc_us(at, gap.begins_us), minutes)


def _utc_us(at: Moment, monotonic_us: int) -> int:
    """That moment in UTC to the second: the two scales jitter, and nobody reads more."""
    return round((monotonic_us + at.utc_us - at.monotonic_us) / 1_000_000) * 1_000_000
