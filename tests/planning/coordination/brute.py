"""A plan held to its request by plain enumeration, carrier by carrier; shares no code with search or check."""

from __future__ import annotations

from itertools import combinations, permutations

from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.request import Group, Profile, Request


def broken(request: Request, carriers: tuple[Carrier, ...]) -> list[str]:
    """Every rule that a plan breaks, in words."""
    found = []
    stands = [(each, request.group[each.group], each.point * request.raster_hz) for each in carriers]
    for each, group, hz in stands:
        profile = _profile(request, group)
        if hz not in group.fixed_hz and not _is_allowed(request, hz):
            found.append(f"{hz} is not allowed")
        heard = [
            (other, their_group, their_hz)
            for other, their_group, their_hz in stands
            if _hear(request, group.zone, their_group.zone)
        ]
        others = [(_profile(request, their_group), their_hz) for other, their_group, their_hz in heard if other != each]
        found += [
            f"{hz} and {their_hz} are too close"
            for theirs, their_hz in others
            if abs(hz - their_hz) < max(profile.spacing_hz, theirs.spacing_hz)
        ]
        found += _struck(profile, hz, [their_hz for _, _, their_hz in heard])
    return found


def _struck(profile: Profile, hz: int, heard: list[int]) -> list[str]:
    two, three, fifth = profile.third_two_signal_hz, profile.third_three_signal_hz, profile.fifth_two_signal_hz
    found = [f"2 x {a} - {b} is near {hz}" for a, b in permutations(heard, 2) if two and abs(2 * a - b - hz) < two]
    found += [
        f"3 x {a} - 2 x {b} is near {hz}"
        for a, b in permutations(heard, 2)
        if fifth and abs(3 * a - 2 * b - hz) < fifth
    ]
    for a, b in combinations(heard, 2):
        found += [
            f"{a} + {b} - {c} is near {hz}" for c in heard if three and c not in {a, b} and abs(a + b - c - hz) < three
        ]
    return found


def _profile(request: Request, group: Group) -> Profile:
    return {each.name: each for each in request.profile}[group.profile]


def _is_allowed(request: Request, hz: int) -> bool:
    inside = any(window.start_hz <= hz <= window.stop_hz for window in request.window)
    return inside and not any(window.start_hz <= hz <= window.stop_hz for window in request.exclusion)


def _hear(request: Request, zone: str, other: str) -> bool:
    return all(sorted(each.zones) != sorted((zone, other)) for each in request.isolation)
