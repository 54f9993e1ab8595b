"""What can be wrong with a request beyond its shape: names, places and counts that contradict one another."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fleet.planning.coordination.allowed import allowed_points, span_of
from fleet.planning.coordination.request import (
    CARRIERS_MAXIMUM,
    POINTS_MAXIMUM,
    Group,
    Request,
    points_of,
)

Problem = tuple[str, str, object]
LEAST_HZ = 1_000_000
"""What lies wholly below is no window for radio microphones, but a number in another unit."""


def problems(request: Request) -> Iterator[Problem]:
    """Each as key, what was expected there, and what was found; the first of them tells most."""
    yield from _window_problems(request)
    for kind, names in _names(request).items():
        yield from _twice(kind, names)
    yield from _group_problems(request)
    yield from _protected_problems(request)
    yield from _isolation_problems(request)
    groups = {group.name for group in request.group}
    for index, scene in enumerate(request.scene):
        if not set(scene.groups) <= groups:
            yield f"scene[{index}].groups", f"some of {', '.join(sorted(groups))}", scene.groups
    for index, profile in enumerate(request.profile):
        if profile.carrier_to_interference_db is not None and request.front_end is None:
            yield f"profile[{index}].carrier_to_interference_db", "front_end beside it, for levels", "none"
    most = request.asked + sum(group.spares for group in request.group)
    if most > CARRIERS_MAXIMUM:
        yield "group", f"at most {CARRIERS_MAXIMUM} carriers in all, spares among them", most


def _names(request: Request) -> dict[str, list[str]]:
    return {
        "profile": [each.name for each in request.profile],
        "group": [each.name for each in request.group],
        "tuning": [each.name for each in request.tuning],
        "scene": [each.name for each in request.scene],
    }


def _twice(kind: str, names: list[str]) -> Iterator[Problem]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield f"{kind}[{index}].name", f"a name that no other {kind} has", name


def _window_problems(request: Request) -> Iterator[Problem]:
    for index, window in enumerate(request.window):
        if window.stop_hz < LEAST_HZ:
            expected = f"Hz, at least {LEAST_HZ}; {window.stop_hz} looks like MHz or kHz"
            yield f"window[{index}].stop_hz", expected, window.stop_hz
    spans = [(f"window[{index}]", each.start_hz, each.stop_hz) for index, each in enumerate(request.window)]
    spans += [(f"exclusion[{index}]", each.start_hz, each.stop_hz) for index, each in enumerate(request.exclusion)]
    for key, start_hz, stop_hz in spans:
        if stop_hz < start_hz:
            yield f"{key}.stop_hz", f"at least start_hz, which is {start_hz}", stop_hz
    for index, tuning in enumerate(request.tuning):
        for number, (start_hz, stop_hz) in enumerate(tuning.ranges):
            if stop_hz < start_hz:
                yield f"tuning[{index}].ranges[{number}]", f"an end that is at least the start, {start_hz}", stop_hz
    if not any(len(points_of(request, window)) for window in request.window):
        yield "window", f"at least one multiple of raster_hz, which is {request.raster_hz}", "none"
    elif len(span_of(request)) > POINTS_MAXIMUM:
        words = f"at most {POINTS_MAXIMUM} points from the lowest window or carrier to the highest"
        yield "raster_hz", words, request.raster_hz


def _group_problems(request: Request) -> Iterator[Problem]:
    profiles, tunings = {each.name for each in request.profile}, {each.name for each in request.tuning}
    span = span_of(request)
    for index, group in enumerate(request.group):
        key = f"group[{index}]"
        if group.profile not in profiles:
            yield f"{key}.profile", f"one of {', '.join(sorted(profiles))}", group.profile
        if group.tuning and group.tuning not in tunings:
            yield (
                f"{key}.tuning",
                f"one of {', '.join(sorted(tunings)) or 'the tunings, of which there is none'}",
                (group.tuning),
            )
            return
        allowed = allowed_points(request, group, span)
        yield from _standing_problems(request, group, key, frozenset((np.flatnonzero(allowed) + span.start).tolist()))
        if not allowed.any() and len(group.fixed_hz) < group.count:
            where = "its tuning ranges and the exclusions leave" if group.tuning else "the exclusions leave"
            yield f"{key}.tuning", f"at least one point of the windows that {where}", "none"


def _standing_problems(request: Request, group: Group, key: str, allowed: frozenset[int]) -> Iterator[Problem]:
    standing = [("fixed_hz", index, hz) for index, hz in enumerate(group.fixed_hz)]
    standing += [("locked_hz", index, hz) for index, hz in enumerate(group.locked_hz)]
    if len(standing) > group.count:
        yield f"{key}.fixed_hz", f"with locked_hz at most as many as count, which is {group.count}", len(standing)
    seen = set[int]()
    for name, index, frequency_hz in standing:
        if frequency_hz % request.raster_hz:
            yield f"{key}.{name}[{index}]", f"a multiple of raster_hz, which is {request.raster_hz}", frequency_hz
        elif frequency_hz in seen:
            yield f"{key}.{name}[{index}]", "each frequency once", frequency_hz
        elif name == "locked_hz" and frequency_hz // request.raster_hz not in allowed:
            yield f"{key}.{name}[{index}]", "a place within windows and tuning that isn't excluded", frequency_hz
        seen.add(frequency_hz)


def _protected_problems(request: Request) -> Iterator[Problem]:
    zones, profiles = {each.zone for each in request.group}, {each.name for each in request.profile}
    for index, protected in enumerate(request.protected):
        key = f"protected[{index}]"
        if protected.frequency_hz % request.raster_hz:
            expected = f"a multiple of raster_hz, which is {request.raster_hz}; take a finer raster, or the nearest"
            yield f"{key}.frequency_hz", expected, protected.frequency_hz
        if protected.zone and protected.zone not in zones:
            yield f"{key}.zone", f"one of {', '.join(sorted(zones))}", protected.zone
        if protected.profile and protected.profile not in profiles:
            yield f"{key}.profile", f"one of {', '.join(sorted(profiles))}", protected.profile


def _isolation_problems(request: Request) -> Iterator[Problem]:
    zones, seen = {each.zone for each in request.group}, set[frozenset[str]]()
    for index, isolation in enumerate(request.isolation):
        pair = frozenset(isolation.zones)
        if not pair <= zones or len(pair) != 2:
            yield f"isolation[{index}].zones", f"two of {', '.join(sorted(zones))}", isolation.zones
        if pair in seen:
            yield f"isolation[{index}].zones", "each two zones once", isolation.zones
        seen.add(pair)
