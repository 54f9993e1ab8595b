"""A plan held to its request by plain enumeration, carrier by carrier; shares no code with search or check."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, permutations
from math import log10

from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.request import Group, Kind, Profile, Protected, Request


@dataclass(frozen=True)
class _Stands:
    """A carrier as a request describes it; of a stranger ``group`` is None."""

    hz: int
    zone: str
    profile: Profile
    group: Group | None


def broken(request: Request, carriers: tuple[Carrier, ...]) -> list[str]:
    """Every rule that a plan breaks, in words."""
    ours = [_ours(request, each) for each in carriers]
    found = [f"{each.hz} is not allowed" for each in ours if not _may_stand(request, each)]
    everybody = ours + [_stranger(request, each) for each in request.protected]
    for scene in _scenes(request):
        here = [each for each in everybody if each.group is None or each.group.name in scene]
        for victim in here:
            heard = [other for other in here if other is victim or _hears(request, victim, other)]
            found += _too_near(victim, heard)
            hertz = [other.hz for other in heard]
            found += _struck(victim.profile, victim.hz, hertz)
            found += _noisy(request, victim, hertz)
    return found


def worst_margin_hz(request: Request, carriers: tuple[Carrier, ...]) -> int | None:
    """How much more than asked the nearest neighbour or guarded product keeps off, of all carriers and strangers."""
    everybody = [_ours(request, each) for each in carriers] + [_stranger(request, each) for each in request.protected]
    found = list[int]()
    for scene in _scenes(request):
        here = [each for each in everybody if each.group is None or each.group.name in scene]
        for victim in here:
            heard = [other for other in here if other is victim or _hears(request, victim, other)]
            found += [abs(victim.hz - other.hz) - needed for other, needed in _neighbours(victim, heard)]
            found += _product_margins(victim.profile, victim.hz, [other.hz for other in heard])
    return min(found, default=None)


def _product_margins(profile: Profile, hz: int, heard: list[int]) -> list[int]:
    two, three, fifth = profile.third_two_signal_hz, profile.third_three_signal_hz, profile.fifth_two_signal_hz
    found = [abs(2 * a - b - hz) - two for a, b in permutations(heard, 2) if two]
    found += [abs(3 * a - 2 * b - hz) - fifth for a, b in permutations(heard, 2) if fifth]
    return found + [abs(a + b - c - hz) - three for a, b, c in _threes(heard) if three]


def lost(request: Request, carriers: tuple[Carrier, ...]) -> list[str]:
    """Fixed and locked carriers that a plan lacks, and groups that have more than they asked for."""
    found = []
    for number, group in enumerate(request.group):
        own = [each.point * request.raster_hz for each in carriers if each.group == number]
        found += [f"{group.name} lost {hz}" for hz in (*group.fixed_hz, *group.locked_hz) if hz not in own]
        if len(own) > group.count:
            found.append(f"{group.name} has {len(own)} of {group.count}")
    return found


def _ours(request: Request, carrier: Carrier) -> _Stands:
    group = request.group[carrier.group]
    profile = {each.name: each for each in request.profile}[group.profile]
    return _Stands(carrier.point * request.raster_hz, group.zone, profile, group)


def _stranger(request: Request, protected: Protected) -> _Stands:
    profiles = {each.name: each for each in request.profile}
    named = profiles.get(protected.profile, Profile("none", 1, isolation_db=0.0))
    values = {name: getattr(named, name) for name in named.__struct_fields__}
    values["spacing_hz"] = max(protected.spacing_hz, named.spacing_hz)
    return _Stands(protected.frequency_hz, protected.zone, Profile(**values), None)


def _may_stand(request: Request, each: _Stands) -> bool:
    if each.group is None or each.hz in each.group.fixed_hz:
        return True
    if each.hz % request.raster_hz or not any(one.start_hz <= each.hz <= one.stop_hz for one in request.window):
        return False
    if any(one.start_hz <= each.hz <= one.stop_hz for one in request.exclusion):
        return False
    tunings = [one for one in request.tuning if one.name == each.group.tuning]
    return not tunings or any(
        start <= each.hz <= stop and (each.hz - start) % tunings[0].step_hz == 0 for start, stop in tunings[0].ranges
    )


def _scenes(request: Request) -> list[set[str]]:
    names = {group.name for group in request.group}
    if not request.scene:
        return [names]
    scenes = [set(scene.groups) for scene in request.scene]
    return scenes + [{name} for name in names if not any(name in scene for scene in scenes)]


def _hears(request: Request, victim: _Stands, other: _Stands) -> bool:
    for each in request.isolation:
        if victim.zone and other.zone and sorted(each.zones) == sorted((victim.zone, other.zone)):
            guards = (
                victim.profile.third_two_signal_hz,
                victim.profile.third_three_signal_hz,
                victim.profile.fifth_two_signal_hz,
            )
            needed = victim.profile.isolation_db
            if needed is None:
                needed = 30.0 if any(guards) else 20.0
            return each.isolation_db is not None and each.isolation_db < needed
    return True


def _too_near(victim: _Stands, heard: list[_Stands]) -> list[str]:
    return [
        f"{victim.hz} and {other.hz} are too close"
        for other, needed in _neighbours(victim, heard)
        if abs(victim.hz - other.hz) < needed
    ]


def _neighbours(victim: _Stands, heard: list[_Stands]) -> Iterator[tuple[_Stands, int]]:
    """Everybody else who is heard, and how far off they must be."""
    for other in heard:
        if other is victim or (other.group is None and victim.group is None):
            continue
        needed = max(victim.profile.spacing_hz, other.profile.spacing_hz)
        if victim.group is not None and other.group is not None:
            kinds = {victim.group.kind: victim.group, other.group.kind: other.group}
            if len(kinds) == 2 and Kind.MICROPHONE in kinds:
                needed = max(needed, *(group.away_hz for kind, group in kinds.items() if kind != Kind.MICROPHONE))
        yield other, needed


def _struck(profile: Profile, hz: int, heard: list[int]) -> list[str]:
    two, three, fifth = profile.third_two_signal_hz, profile.third_three_signal_hz, profile.fifth_two_signal_hz
    found = [f"2 x {a} - {b} is near {hz}" for a, b in permutations(heard, 2) if two and abs(2 * a - b - hz) < two]
    found += [
        f"3 x {a} - 2 x {b} is near {hz}"
        for a, b in permutations(heard, 2)
        if fifth and abs(3 * a - 2 * b - hz) < fifth
    ]
    found += [f"{a} + {b} - {c} is near {hz}" for a, b, c in _threes(heard) if three and abs(a + b - c - hz) < three]
    return found


def _threes(heard: list[int]) -> Iterator[tuple[int, int, int]]:
    """A, B and C for A + B - C: each two once, and everybody else, also who stands at the same place."""
    for (i, a), (j, b) in combinations(enumerate(heard), 2):
        yield from ((a, b, c) for k, c in enumerate(heard) if k not in {i, j})


def _noisy(request: Request, victim: _Stands, heard: list[int]) -> list[str]:
    """P = 3 P_in - 2 IIP3 of 2A - B, and 6.02 dB more of A + B - C; what falls within half a spacing adds as power."""
    needed, front_end = victim.profile.carrier_to_interference_db, request.front_end
    if needed is None or front_end is None or victim.group is None:
        return []
    two_dbm = 3 * front_end.carrier_dbm - 2 * front_end.intercept_dbm
    near = victim.profile.spacing_hz / 2
    power_mw = 0.0
    for a, b in permutations(heard, 2):
        power_mw += 10 ** (two_dbm / 10) * (abs(2 * a - b - victim.hz) < near)
    falls = sum(1 for a, b, c in _threes(heard) if abs(a + b - c - victim.hz) < near)
    power_mw += falls * 10 ** ((two_dbm + 20 * log10(2)) / 10)
    if not power_mw:
        return []
    ratio_db = front_end.carrier_dbm - 10 * log10(power_mw)
    return [f"{victim.hz} has {ratio_db:.1f} dB only"] if ratio_db < needed - 1e-6 else []
