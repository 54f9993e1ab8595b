"""A request for frequencies: windows, profiles, groups, who hears whom, what is excluded and what stands already."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import msgspec
from msgspec import Meta

# No control characters, nor those that turn or hide text.
_PLAIN = "[^\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]"
Name = Annotated[str, Meta(min_length=1, max_length=64, pattern=f"^{_PLAIN}+$")]
Words = Annotated[str, Meta(max_length=200, pattern=f"^{_PLAIN}*$")]
Frequency = Annotated[int, Meta(gt=0, le=10_000_000_000)]
Guard = Annotated[int, Meta(ge=0, le=100_000_000)]
Spacing = Annotated[int, Meta(gt=0, le=100_000_000)]
Decibels = Annotated[float, Meta(ge=0.0, le=200.0)]
Level = Annotated[float, Meta(ge=-150.0, le=50.0)]
CARRIERS_MAXIMUM = 1_000
POINTS_MAXIMUM = 100_000
# Common practice: zones reuse frequencies where that much isolation was measured between them.
ISOLATION_WITH_GUARDS_DB = 30.0
ISOLATION_WITHOUT_GUARDS_DB = 20.0
# Common practice: transmitters to the ear and for talkback keep that far from what microphones are received on.
AWAY_HZ = 8_000_000


class Window(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where carriers may stand, both ends included."""

    start_hz: Frequency
    stop_hz: Frequency


class Exclusion(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where carriers may not stand, both ends included, and why."""

    start_hz: Frequency
    stop_hz: Frequency
    words: Words = ""


class FrontEnd(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What comes into the receivers and what they bear, at their input: makes a carrier-to-interference of products."""

    carrier_dbm: Level
    intercept_dbm: Level


class Tuning(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a kind of device tunes to: ranges, both ends included, each in steps from its start."""

    name: Name
    step_hz: Annotated[int, Meta(ge=1, le=100_000_000)]
    ranges: Annotated[tuple[tuple[Frequency, Frequency], ...], Meta(min_length=1, max_length=100)]


class Profile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a kind of carrier needs: its spacing, and how far products keep off it; 0 switches a family off.

    ``carrier_to_interference_db`` counts the products that fall on a carrier as noise instead. ``isolation_db`` is how
    well a zone must be isolated not to be heard; left out, as common practice has it.
    """

    name: Name
    spacing_hz: Spacing
    third_two_signal_hz: Guard = 0
    third_three_signal_hz: Guard = 0
    fifth_two_signal_hz: Guard = 0
    carrier_to_interference_db: Decibels | None = None
    isolation_db: Decibels | None = None

    @property
    def has_guards(self) -> bool:
        """Whether products keep off carriers of this kind at all."""
        return bool(self.third_two_signal_hz or self.third_three_signal_hz or self.fifth_two_signal_hz)

    @property
    def isolation_needed_db(self) -> float:
        """How well another zone must be isolated not to be heard."""
        if self.isolation_db is not None:
            return self.isolation_db
        return ISOLATION_WITH_GUARDS_DB if self.has_guards else ISOLATION_WITHOUT_GUARDS_DB


class Kind(StrEnum):
    """What a group's carriers are for."""

    MICROPHONE = "microphone"
    IN_EAR = "in_ear"
    TALKBACK = "talkback"


class Group(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """So many carriers of one profile in one zone, and so many spares.

    ``fixed_hz`` are those of them that stand, whatever windows and tuning say; ``locked_hz`` those that are to keep the
    place they have, which must be one they may have. ``away_hz`` is how far transmitters that aren't microphones keep
    from those that are.
    """

    name: Name
    zone: Name
    profile: Name
    count: Annotated[int, Meta(ge=1, le=CARRIERS_MAXIMUM)]
    spares: Annotated[int, Meta(ge=0, le=CARRIERS_MAXIMUM)] = 0
    tuning: Annotated[str, Meta(max_length=64)] = ""
    kind: Kind = Kind.MICROPHONE
    away_hz: Guard = AWAY_HZ
    fixed_hz: Annotated[tuple[Frequency, ...], Meta(max_length=CARRIERS_MAXIMUM)] = ()
    locked_hz: Annotated[tuple[Frequency, ...], Meta(max_length=CARRIERS_MAXIMUM)] = ()


class Protected(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Somebody else's carrier: ours keep off it, and its products count.

    With a profile, our products keep off it by that profile's guards. Without a zone it is heard everywhere.
    """

    frequency_hz: Frequency
    spacing_hz: Spacing
    zone: Annotated[str, Meta(max_length=64)] = ""
    profile: Annotated[str, Meta(max_length=64)] = ""
    words: Words = ""


class Isolation(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How well two zones are isolated, as measured, never as hoped; left out, they don't hear one another at all."""

    zones: tuple[Name, Name]
    isolation_db: Decibels | None = None


class Scene(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Groups that are on air together. With no scenes all are; carriers that share no scene need no protection."""

    name: Name
    groups: Annotated[tuple[Name, ...], Meta(min_length=1, max_length=200)]


class Aim(StrEnum):
    """What a search goes for: most carriers, or with all of them placed the best worst margin."""

    MOST = "most"
    MARGIN = "margin"


class Request(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A whole request. Carriers stand on whole multiples of ``raster_hz``."""

    raster_hz: Annotated[int, Meta(ge=1_000, le=10_000_000)]
    window: Annotated[tuple[Window, ...], Meta(min_length=1, max_length=100)]
    profile: Annotated[tuple[Profile, ...], Meta(min_length=1, max_length=100)]
    group: Annotated[tuple[Group, ...], Meta(min_length=1, max_length=200)]
    exclusion: Annotated[tuple[Exclusion, ...], Meta(max_length=1_000)] = ()
    protected: Annotated[tuple[Protected, ...], Meta(max_length=1_000)] = ()
    tuning: Annotated[tuple[Tuning, ...], Meta(max_length=100)] = ()
    isolation: Annotated[tuple[Isolation, ...], Meta(max_length=1_000)] = ()
    scene: Annotated[tuple[Scene, ...], Meta(max_length=200)] = ()
    front_end: FrontEnd | None = None
    aim: Aim = Aim.MOST

    def profile_named(self, name: str) -> Profile:
        """The profile of that name."""
        return next(profile for profile in self.profile if profile.name == name)

    def profile_of(self, group: Group) -> Profile:
        """The profile of a group."""
        return self.profile_named(group.profile)

    @property
    def asked(self) -> int:
        """How many carriers are asked for, spares left out."""
        return sum(group.count for group in self.group)


def points_of(request: Request, window: Window | Exclusion) -> range:
    """The raster points of a window, as multiples of the raster."""
    return range(-(-window.start_hz // request.raster_hz), window.stop_hz // request.raster_hz + 1)
