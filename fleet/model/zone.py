"""Who writes in a zone when several people share a fleet, and what is journalled of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from fleet.model.moment import Moment

ANYBODY = "*"
"""Offered to whoever accepts first."""


@dataclass(frozen=True, slots=True)
class ZoneWriter:
    """The one person who may write in a zone now. ``offered_to`` names who may take over, empty while nobody may."""

    zone: str
    person: str
    since_utc_us: int
    offered_to: str = ""


class ZoneStep(StrEnum):
    """What happened to a zone."""

    TAKEN = "taken"
    OFFERED = "offered"
    ACCEPTED = "accepted"
    RELEASED = "released"
    FORCED = "taken by force"
    LAPSED = "lapsed"
    GONE = "the zone is gone"


@dataclass(frozen=True, slots=True)
class ZoneWriterChanged:
    """Another person writes in a zone now, or is offered it, or nobody does and so everybody may."""

    kind: ClassVar[str] = "zone writer changed"
    version: ClassVar[int] = 1
    at: Moment
    zone: str
    writer: ZoneWriter | None
    step: ZoneStep
    by: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class TakeZone:
    """Somebody takes a zone that nobody holds; by force also one that somebody does, and then says why."""

    zone: str
    by_force: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class OfferZone:
    """Whoever holds a zone offers it to a person, or to ANYBODY; to nobody when ``to`` is empty."""

    zone: str
    to: str = ANYBODY


@dataclass(frozen=True, slots=True)
class AcceptZone:
    """Somebody takes over what they were offered."""

    zone: str


@dataclass(frozen=True, slots=True)
class ReleaseZone:
    """Whoever holds a zone gives it up."""

    zone: str


ZoneAct = TakeZone | OfferZone | AcceptZone | ReleaseZone


@dataclass(frozen=True, slots=True)
class ScreensChanged:
    """A person's first screen opened, or their last one closed."""

    at: Moment
    person: str
    any_open: bool
