"""When the cues to come will begin and end, by what the show has done so far.

A cue that follows the one before it without a pause follows it whenever that ends. Where a pause was planned, a late
show makes up in it what it can, and an early one keeps the pause's length.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.moment import Moment
from fleet.model.running_order import Cue, RunningOrder
from fleet.model.show import ShowPhase, ShowPlace

_US = 1_000_000


@dataclass(frozen=True, slots=True)
class CueTime:
    """When a cue begins and ends, or is expected to, on the monotonic scale."""

    cue: Cue
    starts_us: int
    ends_us: int


def cue_times(order: RunningOrder, show: ShowPlace, at: Moment) -> tuple[CueTime, ...]:
    """The cues from the current one on; before the show all of them, as if it began now; none once it is over.

    A cue that has run longer than planned is taken to end now.
    """
    if show.phase is ShowPhase.OVER or not order.cues:
        return ()
    index = order.index_of(show.cue_id)
    if index is None or show.started is None or show.zero is None:
        return _following(order.cues, 0, at.monotonic_us, at.monotonic_us - order.cues[0].planned_start_s * _US)
    first, zero_us = order.cues[index], show.zero.monotonic_us
    started_us = show.started.at.monotonic_us
    now = CueTime(first, started_us, max(started_us + first.duration_s * _US, at.monotonic_us))
    return (now, *_after(now, order.cues, index + 1, zero_us))


def late_s(order: RunningOrder, show: ShowPlace, at: Moment) -> float | None:
    """How many seconds later than planned the current cue will end; less than 0 when early, None while none runs."""
    if show.cue_id is None or show.zero is None:
        return None
    times = cue_times(order, show, at)
    if not times or times[0].cue.cue_id != show.cue_id:
        return None
    return (times[0].ends_us - show.zero.monotonic_us) / _US - times[0].cue.planned_end_s


def _following(cues: tuple[Cue, ...], index: int, starts_us: int, zero_us: int) -> tuple[CueTime, ...]:
    first = CueTime(cues[index], starts_us, starts_us + cues[index].duration_s * _US)
    return (first, *_after(first, cues, index + 1, zero_us))


def _after(before: CueTime, cues: tuple[Cue, ...], index: int, zero_us: int) -> tuple[CueTime, ...]:
    found: list[CueTime] = []
    for cue in cues[index:]:
        pause_us = (cue.planned_start_s - before.cue.planned_end_s) * _US
        starts_us = max(before.ends_us, min(zero_us + cue.planned_start_s * _US, before.ends_us + pause_us))
        before = CueTime(cue, starts_us, starts_us + cue.duration_s * _US)
        found.append(before)
    return tuple(found)
