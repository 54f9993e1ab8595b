"""What lies ahead, as it is shown: the place in the running order, the cues to come, sleep and wake, runways."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.show import NO_SHOW, ShowPlace


@dataclass(frozen=True, slots=True)
class CueAhead:
    """The current cue or one to come, and when it is expected; ``entering`` weren't on air in the cue before it."""

    cue_id: str
    starts_utc_us: int
    ends_utc_us: int
    entering: tuple[int, ...]


class RestPhase(StrEnum):
    """How far a planned sleep is."""

    COMING = "coming"
    RESTING = "resting"
    WAKING = "waking"


@dataclass(frozen=True, slots=True)
class Rest:
    """One pack's planned sleep. ``confirmed`` is the pack's own word: asleep while it rests, awake while it wakes.

    ``begins_utc_us`` is known while the sleep is to come, ``wake_due_utc_us`` where it ends before the evening does.
    A pack that is confirmed awake leaves the list when its cue begins.
    """

    sleep_id: str
    number: int
    phase: RestPhase
    confirmed: bool
    begins_utc_us: int | None
    wake_due_utc_us: int | None


@dataclass(frozen=True, slots=True)
class SwapGap:
    """Where to swap: off air after one cue (None for already) and before another."""

    after_cue: str | None
    before_cue: str
    begins_utc_us: int
    minutes: int


@dataclass(frozen=True, slots=True)
class Runway:
    """One pack's minutes: what it says it has, what the running order needs of it, and what it is short of.

    Each is None where it isn't known: blank, never full. ``swap`` is None where it lasts, or never leaves the stage.
    """

    number: int
    minutes_left: int | None
    minutes_needed: int | None = None
    minutes_short: int | None = None
    ends_utc_us: int | None = None
    ends_in_cue: str | None = None
    swap: SwapGap | None = None


@dataclass(frozen=True, slots=True)
class Ahead:
    """The evening ahead. ``late_s`` is how much later than planned the current cue will end, None while none runs.

    ``on_air`` are the rows that count as on air now; ``cues`` are empty without a running order and once it is over.
    """

    show: ShowPlace = NO_SHOW
    late_s: int | None = None
    on_air: tuple[int, ...] = ()
    cues: tuple[CueAhead, ...] = ()
    rests: tuple[Rest, ...] = ()
    runways: tuple[Runway, ...] = ()
