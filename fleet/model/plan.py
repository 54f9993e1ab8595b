"""A frequency plan as it is kept: what was asked for, who stands where, what waits as a spare, and of what source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

PLAN = "plan"
"""The kind of document that a plan is kept as."""


@dataclass(frozen=True, slots=True)
class PlanCarrier:
    """One carrier of a plan. ``locked`` ones stay where they are; ``channel`` is the one it is meant for, if any."""

    group: str
    zone: str
    frequency_hz: int
    locked: bool = False
    channel: str | None = None


@dataclass(frozen=True, slots=True)
class PlanSpare:
    """A frequency that is free beside the whole plan; rank 1 is taken first.

    ``quiet_at_utc_us`` and ``quiet_dbm`` are of the last look at it: when, and how much was heard there; None before
    there was one.
    """

    group: str
    zone: str
    frequency_hz: int
    rank: int
    quiet_at_utc_us: int | None = None
    quiet_dbm: float | None = None


@dataclass(frozen=True, slots=True)
class Relaxation:
    """What would let more carriers in: in words, how many would stand then, and how many more that is than now."""

    words: str
    carriers: int
    gain: int


@dataclass(frozen=True, slots=True)
class BandSource:
    """Where the plan has a band from: in words, by whom and of when; ``unverified`` until somebody has checked it."""

    words: str
    source: str = ""
    dated: str = ""
    unverified: bool = True


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan: its request as `redpoll chart` reads it, and what was found for it.

    ``complete`` says that every carrier asked for stands; ``worst_margin_hz`` is how much more than asked the nearest
    product or neighbour is off, None where nothing is near anything. The same ``seed`` and ``steps`` find it again;
    both are 0 before anything was found.
    """

    title: str
    request: Mapping[str, Any]
    carriers: tuple[PlanCarrier, ...] = ()
    spares: tuple[PlanSpare, ...] = ()
    complete: bool = False
    worst_margin_hz: int | None = None
    seed: int = 0
    steps: int = 0
    seconds: float = 0.0
    relaxations: tuple[Relaxation, ...] = ()
    bands: tuple[BandSource, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """A plan in a list: what it is called, how far it is, who changed it last and when."""

    name: str
    title: str
    revision: int
    by: str
    at_utc_us: int | None
    carriers: int
    asked: int
    complete: bool
    worst_margin_hz: int | None


@dataclass(frozen=True, slots=True)
class PlanFault:
    """A rule of the request that a plan breaks: which, at what frequency, and by how much too little, in Hz or dB."""

    rule: str
    frequency_hz: int
    short_hz: int
    short_db: float = 0.0


@dataclass(frozen=True, slots=True)
class PlanVerdict:
    """How a plan stands against its request; one without faults keeps every rule.

    ``worst_ratio_db`` is the least carrier-to-interference of carriers that ask for one, None where no product falls
    on any of them. ``missing`` says in words which carriers aren't there, or too many.
    """

    faults: tuple[PlanFault, ...]
    worst_margin_hz: int | None
    worst_ratio_db: float | None = None
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ProductField:
    """How many products of each order fall on each raster point: the first at ``start_hz``, then every ``step_hz``.

    ``third`` holds both families of the third order, ``fifth`` the six of the fifth that are laid out; of the one of
    five carriers only the number is known, ``fifth_of_five``.
    """

    start_hz: int
    step_hz: int
    third: tuple[int, ...]
    fifth: tuple[int, ...]
    fifth_of_five: int


@dataclass(frozen=True, slots=True)
class PlanProduct:
    """One product near a victim: how it is made, of whom, where it falls, how far off; level where powers are known."""

    family: str
    makers_hz: tuple[int, ...]
    frequency_hz: int
    distance_hz: int
    level_dbm: float | None = None


@dataclass(frozen=True, slots=True)
class Search:
    """How a plan shall be searched for: by what luck, and how long at the most; ``steps`` 0 means by the time alone."""

    seed: int
    seconds: float
    steps: int = 0


@dataclass(frozen=True, slots=True)
class Near:
    """Which products are asked for: those less than ``within_hz`` from a frequency.

    ``order`` 3 or 5 takes all families of that order; None takes those that profiles have guards for.
    ``zone`` takes the carriers that are heard there; None takes all.
    """

    frequency_hz: int
    within_hz: int
    order: int | None = None
    zone: str | None = None
