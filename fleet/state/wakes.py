"""Planned sleep against what the packs say: who rests, who must be awake by now, who confirmed it.

A wake is confirmed by the pack alone: it says that it is awake, or, where it never speaks of sleep, it is heard.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.ahead import Rest, RestPhase
from fleet.model.moment import Moment
from fleet.model.production import Production
from fleet.model.quality import Quality
from fleet.model.running_order import Sleep
from fleet.planning.show_times import CueTime
from fleet.readings import LiveTable, LiveTables, packs_asleep

HEARD_WITHIN_S = 5.0
"""A pack that was heard so lately is awake; common practice."""
_US = 1_000_000


@dataclass(frozen=True, slots=True)
class PackWords:
    """What each pack says of its sleep, over the rows of the packs; a pack without a row says nothing."""

    asleep: NDArray[np.bool_]
    awake: NDArray[np.bool_]
    row_of: dict[str, int]

    def is_asleep(self, pack: str | None) -> bool:
        """Whether the pack's last word is that it sleeps."""
        row = self.row_of.get(pack or "")
        return row is not None and bool(self.asleep[row])

    def is_awake(self, pack: str | None) -> bool:
        """Whether the pack confirms that it is awake."""
        row = self.row_of.get(pack or "")
        return row is not None and bool(self.awake[row])


def pack_words(tables: LiveTables) -> PackWords:
    """What the packs say now."""
    table = tables[Place.PACK]
    asleep = packs_asleep(tables)
    silent_of_sleep = table.qualities[table.column_of["asleep"]] == Quality.ABSENT
    heard = table.good("last_seen_s") <= HEARD_WITHIN_S
    awake = ~asleep & ((table.good("asleep") == 0.0) | (silent_of_sleep & heard))
    return PackWords(asleep, awake, _rows(table))


def _rows(table: LiveTable) -> dict[str, int]:
    return {pack: row for row, pack in enumerate(table.addresses)}


@dataclass(frozen=True, slots=True)
class Due:
    """A pack that must be awake by now and doesn't say so, and since when, on the monotonic scale."""

    pack: str
    since_us: int


class WakeBook:
    """Remembers which planned wakes were confirmed, and since when a sleeping pack has been due."""

    def __init__(self) -> None:
        self._confirmed: set[tuple[str, int]] = set()
        self._due_since: dict[str, int] = {}

    def rests(self, at: Moment, production: Production, times: Sequence[CueTime], words: PackWords) -> tuple[Rest, ...]:
        """Every planned sleep of a show that runs, but those that are confirmed to be over."""
        index = {cue.cue_id: place for place, cue in enumerate(production.order.cues)}
        now = index[times[0].cue.cue_id]
        pack_of = {position.number: position.pack for position in production.positions}
        lead_us = production.practice.wake_lead_min * 60 * _US
        found: list[Rest] = []
        for sleep in production.order.sleeps:
            plan = _plan(sleep, at, times, (now, index), lead_us)
            found += self._of_sleep(sleep, plan, words, pack_of)
        return tuple(found)

    def _of_sleep(self, sleep: Sleep, plan: _Plan, words: PackWords, pack_of: dict[int, str | None]) -> Iterable[Rest]:
        for number in sleep.numbers:
            key, pack = (sleep.sleep_id, number), pack_of.get(number)
            if plan.phase is not RestPhase.WAKING:
                self._confirmed.discard(key)
                confirmed = plan.phase is RestPhase.RESTING and words.is_asleep(pack)
                yield Rest(*key, plan.phase, confirmed, plan.begins_utc_us, plan.wake_due_utc_us)
                continue
            if words.is_awake(pack):
                self._confirmed.add(key)
            confirmed = key in self._confirmed
            if not (confirmed and plan.over):
                yield Rest(*key, plan.phase, confirmed, None, plan.wake_due_utc_us)

    def due(
        self, at: Moment, production: Production, times: Sequence[CueTime], words: PackWords, rests: Iterable[Rest]
    ) -> tuple[Due, ...]:
        """Packs that must be awake: planned wakes without confirmation, and sleepers on air or soon to be."""
        pack_of = {position.number: position.pack for position in production.positions}
        due: dict[str, int] = {}
        resting = {rest.number for rest in rests if rest.phase is RestPhase.RESTING}
        for rest in rests:
            pack = pack_of.get(rest.number)
            if pack is not None and rest.phase is RestPhase.WAKING and not rest.confirmed:
                due[pack] = self._due_since.get(pack, at.monotonic_us)
        # Since when is what this book saw: the plan slides with the show.
        near_us = at.monotonic_us + production.practice.wake_lead_min * 60 * _US
        near = {number for time in times if time.starts_us <= near_us for number in time.cue.on_air}
        for number in near - resting:
            pack = pack_of.get(number)
            if pack is not None and words.is_asleep(pack):
                due.setdefault(pack, self._due_since.get(pack, at.monotonic_us))
        self._due_since = due
        return tuple(Due(pack, since_us) for pack, since_us in due.items())

    def forget(self) -> None:
        """No show runs: nothing is due."""
        self._confirmed.clear()
        self._due_since.clear()


@dataclass(frozen=True, slots=True)
class _Plan:
    phase: RestPhase
    over: bool
    begins_utc_us: int | None
    wake_due_utc_us: int | None


def _plan(
    sleep: Sleep, at: Moment, times: Sequence[CueTime], places: tuple[int, dict[str, int]], lead_us: int
) -> _Plan:
    """How far a sleep is by the running order alone. ``places`` are the current cue's and everyone's by id."""
    now, index = places
    starts = {time.cue.cue_id: time.starts_us for time in times}
    ahead_us = at.utc_us - at.monotonic_us
    begins_us = starts.get(sleep.from_cue)
    until_us = None if sleep.until_cue is None else starts.get(sleep.until_cue)
    due_us = None if until_us is None else until_us - lead_us
    due_utc_us = None if due_us is None else due_us + ahead_us
    if now < index[sleep.from_cue]:
        return _Plan(RestPhase.COMING, False, None if begins_us is None else begins_us + ahead_us, due_utc_us)
    over = sleep.until_cue is not None and now >= index[sleep.until_cue]
    if over or (due_us is not None and at.monotonic_us >= due_us):
        return _Plan(RestPhase.WAKING, over, None, due_utc_us)
    return _Plan(RestPhase.RESTING, False, None, due_utc_us)
