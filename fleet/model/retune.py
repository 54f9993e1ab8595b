"""Retunes as they are shown and kept: what a plan would do, each step that was done, and what became of each link."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from fleet.model.command import CommandState
from fleet.model.fields import Value

RETUNE = "retune"
"""The kind of document that a run is kept as."""


class StepKind(StrEnum):
    """What a step does with a link."""

    MOVE = "move"
    PARK = "park"
    SLEEP = "sleep"
    WAKE = "wake"
    BACK = "back"


class StepState(StrEnum):
    """How far a step is. UNKNOWN says that nobody can tell where an end of it stands."""

    PLANNED = "planned"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    UNKNOWN = "unknown"


class ItemState(StrEnum):
    """What became of a link."""

    NOT_BEGUN = "not begun"
    MOVING = "moving"
    ASIDE = "aside"
    DONE = "done"
    FAILED = "failed"
    UNKNOWN = "unknown"
    BACK = "rolled back"
    LEFT_OUT = "left out"


class RetuneState(StrEnum):
    """How far a run is. INTERRUPTED ones were under way when the console stopped; nothing resumes them by itself."""

    RUNNING = "running"
    ASKING = "asking"
    ROLLING_BACK = "rolling back"
    DONE = "done"
    STOPPED = "stopped"
    CANCELLED = "cancelled"
    INTERRUPTED = "interrupted"
    ROLLED_BACK = "rolled back"
    PARTLY_BACK = "partly rolled back"

    @property
    def is_open(self) -> bool:
        """Whether somebody is at it now."""
        return self in {RetuneState.RUNNING, RetuneState.ASKING, RetuneState.ROLLING_BACK}


@dataclass(frozen=True, slots=True)
class RetuneWrite:
    """One command of a step: what it changes at which end, and what stood there ``before``.

    ``command_id`` is empty and ``state`` None until it was asked for; one that is confirmed without a command stood
    there already. ``takes_back`` is the command that a write on the way back undoes.
    """

    address: str
    changes: Mapping[str, Value]
    before: Mapping[str, Value]
    command_id: str = ""
    state: CommandState | None = None
    reason: str = ""
    takes_back: str = ""


@dataclass(frozen=True, slots=True)
class RetuneStep:
    """One link goes to one frequency, by its writes in their order; ``to_hz`` is None for a step to sleep.

    ``silent_at_most_s`` is how long its channels may be silent, hands aside; 0 where nothing mutes. ``by_hand`` says
    that somebody must do something at a pack. ``cautions`` are sentences to read before it is done. ``heard`` tells,
    once it was done, whether the receiver named its pack within three seconds; None where it doesn't name packs.
    """

    number: int
    kind: StepKind
    link_id: str
    channels: tuple[str, ...]
    from_hz: tuple[int, ...]
    to_hz: int | None
    writes: tuple[RetuneWrite, ...]
    silent_at_most_s: float = 0.0
    by_hand: bool = False
    cautions: tuple[str, ...] = ()
    state: StepState = StepState.PLANNED
    reason: str = ""
    heard: bool | None = None


@dataclass(frozen=True, slots=True)
class RetuneLeftOut:
    """Channels that can't be brought to where the plan wants them, why, and which links are in the way."""

    link_id: str
    channels: tuple[str, ...]
    to_hz: int
    reason: str
    by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RetuneOrphan:
    """A channel that hears a pack now which a step takes away from it: the plan doesn't move this channel with it."""

    channel: str
    pack: str
    link_id: str


@dataclass(frozen=True, slots=True)
class RetunePreview:
    """What putting a plan on the air would do; nothing was sent.

    ``aside`` links step aside on the way; ``fewest`` where no order needs fewer. ``already`` counts the links that
    stand where they are wanted, ``without_channel`` the carriers of the plan that are meant for no channel.
    """

    plan: str
    plan_revision: int
    steps: tuple[RetuneStep, ...]
    left_out: tuple[RetuneLeftOut, ...]
    orphans: tuple[RetuneOrphan, ...]
    aside: int
    fewest: bool
    already: int
    without_channel: int
    seconds_at_most: float
    show_live: bool


@dataclass(frozen=True, slots=True)
class RetuneItem:
    """What became of one link; ``stands_hz`` is where its ends were last reported, more than one while half done."""

    link_id: str
    channels: tuple[str, ...]
    from_hz: tuple[int, ...]
    to_hz: int
    state: ItemState
    stands_hz: tuple[int, ...]
    reason: str = ""


@dataclass(frozen=True, slots=True)
class RetunePrompt:
    """What the person in charge is asked; the answers that are understood."""

    code: str
    words: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RetuneRun:
    """A run: a plan put on the air, or the guided change of a single channel (``guided``).

    ``reason`` says why it stopped. ``can_roll_back`` says that something of it was confirmed, or may have been, and can
    be taken back.
    """

    run_id: str
    guided: bool
    plan: str
    plan_revision: int
    begun_by: str
    begun_utc_us: int
    state: RetuneState
    changed_utc_us: int
    steps: tuple[RetuneStep, ...]
    items: tuple[RetuneItem, ...]
    left_out: tuple[RetuneLeftOut, ...] = ()
    reason: str = ""
    prompt: RetunePrompt | None = None
    answered: Mapping[str, str] = field(default_factory=dict)
    can_roll_back: bool = False


@dataclass(frozen=True, slots=True)
class RetuneFacts:
    """A run in a list."""

    run_id: str
    guided: bool
    plan: str
    begun_by: str
    begun_utc_us: int
    state: RetuneState
    reason: str
    steps_done: int
    steps: int


@dataclass(frozen=True, slots=True)
class RetuneAsk:
    """What somebody wants done with a plan.

    ``revision`` is the one of the plan that was previewed; None takes it as it stands. ``may_sleep`` lets packs sleep
    where no frequency is free; ``only_what_can`` goes ahead although some channels must be left out; ``channels``
    narrows it, None is all of them.
    """

    name: str
    revision: int | None = None
    may_sleep: bool = False
    only_what_can: bool = False
    channels: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class RetuneWanted:
    """Which channel of which plan is to move while the show runs; None takes the best spare that is verified."""

    plan: str
    channel: str
    frequency_hz: int | None = None
