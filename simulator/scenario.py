"""Scenarios: one readable TOML document that says who is where, with which gear, in which place."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from fleet.errors import InvalidDocument
from simulator.scenario_gear import (
    AccessPoint,
    Charger,
    Distribution,
    Gateway,
    Gear,
    InEar,
    Medium,
    Scanner,
    Thing,
)
from simulator.scenario_values import (
    Current,
    Decibels,
    Delay,
    Diversity,
    Height,
    Label,
    Loss,
    Name,
    Offset,
    Point,
    Point3,
    Positive,
    SampleRate,
    Seconds,
    Share,
    Window,
)
from simulator.step import Step

SIZE_MAXIMUM = 1 << 20

SCRIPT_MAXIMUM = 1000


class Venue(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The ground that walks and antennas must lie on, to scale, from one corner to the opposite one in metres.

    Every way to an antenna is shadowed by ``shadow_db`` of spread, the same at the same place; the likeness of two
    places falls to 1/e over ``shadow_distance_m``. 0 is a place without anything in the way but its walls. ``indoor``
    names an environment of ITU-R P.1238 whose median loss takes the place of free space.
    """

    minimum_m: Point
    maximum_m: Point
    shadow_db: Annotated[float, Meta(ge=0, le=12)] = 0.0
    shadow_distance_m: Annotated[float, Meta(ge=0.5, le=200)] = 3.0
    indoor: str = ""


class Wall(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A wall from point to point, as high as the venue: what a way through it loses, once for each straight piece."""

    name: Name
    points: Annotated[tuple[Point, ...], Meta(min_length=2, max_length=100)]
    loss_db: Loss


class Zone(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A part of the venue with a radio and sound climate of its own.

    ``rician_k_db`` is the power of the direct path over the scattered ones; ``rumble_dbfs`` the rms that the stage's
    rumble at 40 Hz gives a pack at input trim 0 without a low-cut, ``wind_dbfs`` the same of the wind, whose gusts come
    and go about it.
    """

    name: Name
    rician_k_db: Annotated[float, Meta(ge=-20, le=30)] = 6.0
    floor_dbm: Annotated[float, Meta(ge=-115, le=-60)] = -105.0
    rumble_dbfs: Annotated[float, Meta(ge=-140, le=-10)] = -58.0
    wind_dbfs: Annotated[float, Meta(ge=-140, le=-10)] = -140.0


class Antenna(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A receive antenna: where it stands, what it gains and what its feed loses.

    ``draws_ma`` is what its booster draws from the feed; 0 is an antenna without one.
    """

    name: Name
    position_m: Point3
    gain_dbi: Annotated[float, Meta(ge=-20, le=20)] = 0.0
    feed_loss_db: Loss = 0.0
    draws_ma: Current = 0.0


class Stranger(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A carrier that is none of ours, standing somewhere; a wide one is noise to whoever lies under it.

    It is on the air from ``on_s`` until ``off_s``, in seconds of the world; without them, all the time.
    """

    name: Name
    frequency_hz: Annotated[int, Meta(gt=0)]
    position_m: Point3
    erp_mw: Annotated[float, Meta(gt=0, le=1e6)] = 10.0
    bandwidth_hz: Annotated[int, Meta(gt=0, le=100_000_000)] = 200_000
    on_s: Seconds = 0.0
    off_s: Seconds | None = None


class Walk(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A looped walk: points of seconds, x and y in metres. The last point's time is the loop's length.

    Nobody stands like a stone: whoever moves more slowly than ``pace_m_s`` marks time at that pace, which moves the
    radio field though not the place. 0 is a pack that lies still.
    """

    name: Name
    points: Annotated[tuple[Point3, ...], Meta(min_length=1, max_length=1000)]
    pace_m_s: Annotated[float, Meta(ge=0, le=20)] = 0.25


class Channel(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One channel of a receiver, its carrier, the pack linked to it and who wears it.

    ``charge`` is what is left in the cells at the start. ``talk`` is how much of the time the part is in a scene;
    0 never speaks. With ``speaks`` it has its lines in these seconds and is silent in between, again and again every
    ``speaks_every_s`` if that is said, whatever ``talk`` is. ``body_loss_db`` is an assumption about what the
    wearer's body takes away straight behind it; in front it is a third of that. The wearer faces where the walk
    goes, or always ``faces_deg`` (0 along x, 90 along y). With ``hears`` the channel has no pack of its own and
    listens to that of another one, key and all. ``controlled_by`` names the access point whose return link reaches
    the pack; ``return_link`` false is a pack that only a hand can set. A ``needs_phantom`` pack is a plug-on before
    a microphone that is silent without.
    """

    part: Name
    pack: Name
    frequency_hz: int
    walk: Name
    walk_offset_s: Offset = 0.0
    rf_power_mw: Positive = 10.0
    low_cut_hz: int = 80
    cells: Name = "li-ion"
    charge: Share = 1.0
    talk: Share = 0.5
    speaks: Annotated[tuple[Window, ...], Meta(max_length=100)] = ()
    speaks_every_s: Seconds = 0.0
    body_loss_db: Loss = 22.0
    faces_deg: Annotated[float, Meta(ge=-360, le=360)] | None = None
    height_m: Height = 1.3
    hears: bool = False
    controlled_by: str = ""
    return_link: bool = True
    needs_phantom: bool = False


class Tuning(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The frequencies that receiver and packs can take: a range and the step from its lower end."""

    minimum_hz: int = 470_000_000
    maximum_hz: int = 694_000_000
    step_hz: Annotated[int, Meta(gt=0)] = 25_000


class Receiver(Gear, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A receiver: its antenna inputs, its channels in order, and the reach of its return link.

    ``feeds`` are those of its antenna inputs that it powers the antenna through. A ``wide`` one bears all channels on
    one carrier; a ``hopping`` one chooses its frequencies itself. ``modes`` are those of its carriers, each with the
    decibels that it bears more than the usual before frames are lost, the one in use first. With ``diversity`` it
    takes the better branch at each moment, or adds all of them by their ratios. ``modules`` are outputs
    that can be plugged in. ``stubborn`` names a field of its outputs that it refuses although it is described as
    writable.
    """

    zone: Name
    antennas: Annotated[dict[Label, Name], Meta(min_length=1, max_length=4)]
    channel: Annotated[tuple[Channel, ...], Meta(min_length=1, max_length=8)]
    analog: bool = False
    feeds: tuple[Label, ...] = ()
    sample_rate_hz: SampleRate = 48_000
    return_link_range_m: Positive = 60.0
    return_link_delay_ms: Delay = 120.0
    rf_power_steps_mw: Annotated[tuple[Positive, ...], Meta(min_length=1, max_length=16)] = (2.0, 10.0, 50.0)
    tuning: Tuning = Tuning()
    wide: bool = False
    hopping: bool = False
    diversity: Diversity = "selection"
    modes: Annotated[dict[Name, Decibels], Meta(max_length=16)] = msgspec.field(default_factory=dict)
    link_media: tuple[Medium, ...] = ("air",)
    outputs: Annotated[dict[Label, Name], Meta(max_length=16)] = msgspec.field(default_factory=dict)
    modules: Annotated[dict[Label, dict[Label, Name]], Meta(max_length=4)] = msgspec.field(default_factory=dict)
    stubborn: str = ""


class Scenario(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A whole scenario. ``script`` are acts and writes at their times, so that a whole evening can be written."""

    name: Name
    venue: Venue
    zone: Annotated[tuple[Zone, ...], Meta(min_length=1, max_length=100)]
    antenna: Annotated[tuple[Antenna, ...], Meta(min_length=1, max_length=1000)]
    walk: Annotated[tuple[Walk, ...], Meta(min_length=1, max_length=1000)]
    receiver: Annotated[tuple[Receiver, ...], Meta(min_length=1, max_length=1000)]
    distribution: Annotated[tuple[Distribution, ...], Meta(max_length=100)] = ()
    charger: Annotated[tuple[Charger, ...], Meta(max_length=100)] = ()
    access_point: Annotated[tuple[AccessPoint, ...], Meta(max_length=100)] = ()
    scanner: Annotated[tuple[Scanner, ...], Meta(max_length=100)] = ()
    in_ear: Annotated[tuple[InEar, ...], Meta(max_length=100)] = ()
    thing: Annotated[tuple[Thing, ...], Meta(max_length=100)] = ()
    gateway: Annotated[tuple[Gateway, ...], Meta(max_length=16)] = ()
    stranger: Annotated[tuple[Stranger, ...], Meta(max_length=16)] = ()
    wall: Annotated[tuple[Wall, ...], Meta(max_length=200)] = ()
    script: Annotated[tuple[Step, ...], Meta(max_length=SCRIPT_MAXIMUM)] = ()


def names() -> tuple[str, ...]:
    """The scenarios that come with the simulator."""
    folder = resources.files("simulator") / "scenarios"
    return tuple(sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml")))


def load_text(name_or_file: str) -> tuple[str, str]:
    """The name to show and the text of a scenario that comes with the simulator, or of a file.

    Raises InvalidDocument when there is neither.
    """
    if name_or_file in names():
        return f"{name_or_file}.toml", (resources.files("simulator") / "scenarios" / f"{name_or_file}.toml").read_text()
    path = Path(name_or_file)
    try:
        if path.stat().st_size > SIZE_MAXIMUM:
            raise InvalidDocument(name_or_file, "file", f"at most {SIZE_MAXIMUM} bytes")
        return name_or_file, path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        expected = f"a readable TOML file, or one of {', '.join(names())}"
        raise InvalidDocument(name_or_file, "file", expected, str(error)) from error


def decode(file: str, text: str) -> Scenario:
    """The scenario in ``text``, its shape checked, its references not yet.

    Raises InvalidDocument with the key and what was expected there.
    """
    try:
        return msgspec.convert(tomllib.loads(text), Scenario)
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(file, "document", "TOML", str(error)) from error
    except msgspec.ValidationError as error:
        raise as_invalid(file, str(error)) from error


def as_invalid(file: str, words: str) -> InvalidDocument:
    """Take apart what the decoder says: the sentence, then the path of the key."""
    sentence, _, path = words.partition(" - at `")
    key = path.removesuffix("`").removeprefix("$").removeprefix(".")
    unknown = re.fullmatch(r"Object contains unknown field `(.*)`", sentence)
    if unknown:
        return InvalidDocument(file, f"{key}.{unknown[1]}".lstrip("."), "a key that scenarios have")
    missing = re.fullmatch(r"Object missing required field `(.*)`", sentence)
    if missing:
        return InvalidDocument(file, f"{key}.{missing[1]}".lstrip("."), "a value, for it must be there")
    expected, _, found = sentence.removeprefix("Expected ").partition(", got ")
    return InvalidDocument(file, key or "document", expected, found or None)
