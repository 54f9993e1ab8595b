"""A request for frequencies: windows, profiles, groups, what is excluded and what is fixed. Read strictly from TOML."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Annotated

import msgspec
from msgspec import Meta

from fleet.errors import InvalidDocument

Name = Annotated[str, Meta(min_length=1, max_length=64)]
Frequency = Annotated[int, Meta(gt=0, le=10_000_000_000)]
Guard = Annotated[int, Meta(ge=0, le=100_000_000)]
CARRIERS_MAXIMUM = 1_000
POINTS_MAXIMUM = 100_000


class Window(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where carriers may stand, both ends included."""

    start_hz: Frequency
    stop_hz: Frequency


class Profile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a kind of carrier needs: its spacing, and how far products keep off it; 0 switches a family off."""

    name: Name
    spacing_hz: Annotated[int, Meta(gt=0, le=100_000_000)]
    third_two_signal_hz: Guard = 0
    third_three_signal_hz: Guard = 0
    fifth_two_signal_hz: Guard = 0


class Group(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """So many carriers of one profile in one zone; ``fixed_hz`` are those of them that stand already."""

    name: Name
    zone: Name
    profile: Name
    count: Annotated[int, Meta(ge=1, le=CARRIERS_MAXIMUM)]
    fixed_hz: Annotated[tuple[Frequency, ...], Meta(max_length=CARRIERS_MAXIMUM)] = ()


class Isolation(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Two zones whose carriers do not hear one another: measured, never hoped for."""

    zones: tuple[Name, Name]


class Request(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A whole request. Carriers stand on whole multiples of ``raster_hz``."""

    raster_hz: Annotated[int, Meta(ge=1_000, le=10_000_000)]
    window: Annotated[tuple[Window, ...], Meta(min_length=1, max_length=100)]
    profile: Annotated[tuple[Profile, ...], Meta(min_length=1, max_length=100)]
    group: Annotated[tuple[Group, ...], Meta(min_length=1, max_length=200)]
    exclusion: Annotated[tuple[Window, ...], Meta(max_length=1_000)] = ()
    isolation: Annotated[tuple[Isolation, ...], Meta(max_length=1_000)] = ()

    def profile_of(self, group: Group) -> Profile:
        """The profile of a group."""
        return next(profile for profile in self.profile if profile.name == group.profile)

    def hears(self, zone: str, other: str) -> bool:
        """Whether carriers of one zone are heard in another."""
        return not any({zone, other} == set(each.zones) for each in self.isolation)


def read_request(text: str, file: str) -> Request:
    """The request in a TOML text.

    Raises InvalidDocument with file, key and what was expected.
    """
    try:
        request = msgspec.convert(tomllib.loads(text), Request)
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(file, "document", "TOML", str(error)) from error
    except msgspec.ValidationError as error:
        sentence, _, path = str(error).partition(" - at `$")
        key = path.removesuffix("`").removeprefix(".")
        unknown = re.fullmatch(r"Object contains unknown field `(.*)`", sentence)
        if unknown:
            raise InvalidDocument(file, f"{key}.{unknown[1]}".lstrip("."), "a key that requests have") from error
        raise InvalidDocument(file, key or "document", "what a request can say", sentence) from error
    for key, expected, found in _problems(request):
        raise InvalidDocument(file, key, expected, found)
    return request


def points_of(request: Request, window: Window) -> range:
    """The raster points of a window, as multiples of the raster."""
    return range(-(-window.start_hz // request.raster_hz), window.stop_hz // request.raster_hz + 1)


Problem = tuple[str, str, object]


def _problems(request: Request) -> Iterator[Problem]:
    yield from _window_problems(request)
    yield from _twice("profile", [each.name for each in request.profile])
    yield from _twice("group", [each.name for each in request.group])
    profiles, zones = {each.name for each in request.profile}, {each.zone for each in request.group}
    for index, group in enumerate(request.group):
        if group.profile not in profiles:
            yield f"group[{index}].profile", f"one of {', '.join(sorted(profiles))}", group.profile
        yield from _fixed_problems(request, group, f"group[{index}].fixed_hz")
    for index, isolation in enumerate(request.isolation):
        if not set(isolation.zones) <= zones or len(set(isolation.zones)) != 2:
            yield f"isolation[{index}].zones", f"two of {', '.join(sorted(zones))}", isolation.zones
    asked = sum(group.count for group in request.group)
    if asked > CARRIERS_MAXIMUM:
        yield "group", f"at most {CARRIERS_MAXIMUM} carriers in all", asked


def _window_problems(request: Request) -> Iterator[Problem]:
    for kind, windows in (("window", request.window), ("exclusion", request.exclusion)):
        for index, window in enumerate(windows):
            if window.stop_hz < window.start_hz:
                yield f"{kind}[{index}].stop_hz", f"at least start_hz, which is {window.start_hz}", window.stop_hz
    spans = [points_of(request, window) for window in request.window]
    if not any(len(span) for span in spans):
        yield "window", f"at least one multiple of raster_hz, which is {request.raster_hz}", "none"
    elif max(span.stop for span in spans) - min(span.start for span in spans) > POINTS_MAXIMUM:
        yield "raster_hz", f"at most {POINTS_MAXIMUM} points from first window to last", request.raster_hz


def _twice(kind: str, names: list[str]) -> Iterator[Problem]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield f"{kind}[{index}].name", f"a name that no other {kind} has", name


def _fixed_problems(request: Request, group: Group, key: str) -> Iterator[Problem]:
    if len(group.fixed_hz) > group.count:
        yield key, f"at most as many as count, which is {group.count}", len(group.fixed_hz)
    for index, frequency_hz in enumerate(group.fixed_hz):
        if frequency_hz % request.raster_hz:
            yield f"{key}[{index}]", f"a multiple of raster_hz, which is {request.raster_hz}", frequency_hz
        if frequency_hz in group.fixed_hz[:index]:
            yield f"{key}[{index}]", "each frequency once", frequency_hz
