"""The running order of a production: acts and cues, who is on air in each, when packs sleep and when cells are swapped.

All times are planned and relative: second 0 is the beginning of the running order. Rows are named by their numbers.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ShowAct:
    """A part of the evening that holds cues; ids are unique among acts."""

    act_id: str
    name: str


@dataclass(frozen=True, slots=True)
class Casting:
    """In one cue the pack and channel of that row are worn by another part: a doubling, or an understudy."""

    number: int
    part: str


@dataclass(frozen=True, slots=True)
class Cue:
    """One stretch of the running order. ``on_air`` are the numbers of the rows that are heard in it."""

    cue_id: str
    name: str
    act: str
    planned_start_s: int
    duration_s: int
    on_air: tuple[int, ...] = ()
    castings: tuple[Casting, ...] = ()

    @property
    def planned_end_s(self) -> int:
        """When the cue is planned to end."""
        return self.planned_start_s + self.duration_s


@dataclass(frozen=True, slots=True)
class Sleep:
    """Packs are put to sleep when ``from_cue`` begins, and must be awake some minutes before ``until_cue`` does.

    Without ``until_cue`` they sleep to the end.
    """

    sleep_id: str
    numbers: tuple[int, ...]
    from_cue: str
    until_cue: str | None = None


@dataclass(frozen=True, slots=True)
class Swap:
    """The cells of these packs are changed while ``cue`` runs, in which none of them is on air."""

    swap_id: str
    numbers: tuple[int, ...]
    cue: str


@dataclass(frozen=True, slots=True)
class Practice:
    """Numbers that a production may set for itself; all are common practice.

    ``swap_margin_min`` is what cells must last beyond the last cue; ``wake_lead_min`` how long before its cue a pack
    must be awake; ``asleep_drain_fraction`` what a sleeping pack draws of what an awake one does.
    """

    swap_margin_min: int = 45
    wake_lead_min: int = 10
    asleep_drain_fraction: float = 0.2


COMMON_PRACTICE = Practice()


@dataclass(frozen=True, slots=True)
class RunningOrder:
    """Acts and cues in the order in which they come. Without cues there is no running order."""

    acts: tuple[ShowAct, ...] = ()
    cues: tuple[Cue, ...] = ()
    sleeps: tuple[Sleep, ...] = ()
    swaps: tuple[Swap, ...] = ()

    def index_of(self, cue_id: str | None) -> int | None:
        """The place of a cue in the order, or None when there is none of that id."""
        return next((index for index, cue in enumerate(self.cues) if cue.cue_id == cue_id), None)


NO_ORDER = RunningOrder()
