"""Who is heard together with whom: a request's parties, and the rooms in which their carriers meet.

A party is a group, or somebody else's carrier. A room is a set of parties that some parties hear at once: products of
all that a room hears must keep off the carriers of its victims. Zones, isolation and scenes come to nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleet.planning.coordination.request import Group, Kind, Profile, Protected, Request

# Less than any rounding of logarithms comes to.
ROUNDING_DB = 1e-9


@dataclass(frozen=True, slots=True)
class Needs:
    """What a party's carriers need, in raster steps; 0 switches a family off.

    ``weight_maximum`` bounds the products within half the spacing, a three-signal one counted four times, for a
    carrier-to-interference; None where none is asked for.
    """

    spacing: int
    two: int = 0
    three: int = 0
    fifth: int = 0
    weight_maximum: int | None = None

    @property
    def is_hit(self) -> bool:
        """Whether products matter to it at all."""
        return bool(self.two or self.three or self.fifth) or self.weight_maximum is not None


@dataclass(frozen=True, slots=True)
class Asked:
    """What a party's carriers ask for in Hz, of which the needs are the steps, rounded up; 0 switches a family off."""

    spacing_hz: int
    two_hz: int = 0
    three_hz: int = 0
    fifth_hz: int = 0
    away_hz: int = 0


@dataclass(frozen=True, slots=True)
class Party:
    """A group, or somebody else's carrier: where it is heard, what it needs, how far it keeps from other kinds.

    Of somebody else's carrier the kind isn't known.
    """

    zone: str
    kind: Kind | None
    away: int
    isolation_needed_db: float
    needs: Needs
    asked: Asked


@dataclass(frozen=True, slots=True)
class Room:
    """Parties that are heard at once, by their numbers, and those of them whose carriers everything keeps off."""

    heard: frozenset[int]
    victims: frozenset[int]


def parties_of(request: Request) -> tuple[Party, ...]:
    """The groups in their order, then the protected carriers in theirs."""
    groups = [_group_party(request, group) for group in request.group]
    return (*groups, *(_protected_party(request, protected) for protected in request.protected))


def rooms_of(request: Request, parties: tuple[Party, ...]) -> tuple[Room, ...]:
    """All rooms: for each scene and each party in it what it hears, the same taken together, lesser ones left out."""
    found: dict[frozenset[int], set[int]] = {}
    for party in range(len(parties)):
        heard_sets = {_heard(request, parties, party, scene) for scene in _scenes(request, parties) if party in scene}
        for heard in heard_sets:
            if not any(heard < other for other in heard_sets):
                found.setdefault(heard, set()).add(party)
    return tuple(Room(heard, frozenset(victims)) for heard, victims in found.items())


def heard_in_zone(request: Request, zone: str) -> frozenset[int]:
    """The parties that any party of a zone hears, in whatever scene."""
    parties = parties_of(request)
    rooms = rooms_of(request, parties)
    here = {number for number, party in enumerate(parties) if party.zone == zone}
    return frozenset(other for room in rooms if room.victims & here for other in room.heard)


def are_isolated(request: Request, zone: str, other: str, needed_db: float) -> bool:
    """Whether two zones are isolated by so much, as far as the request says."""
    for isolation in request.isolation:
        if zone != other and {zone, other} == set(isolation.zones):
            return isolation.isolation_db is None or isolation.isolation_db >= needed_db
    return False


def spacing_between(parties: tuple[Party, ...], one: int, other: int) -> int:
    """How far carriers of two parties that meet keep apart, in raster steps."""
    first, second = parties[one], parties[other]
    spacing = max(first.needs.spacing, second.needs.spacing)
    away_of = _keeping_away(first, second)
    return spacing if away_of is None else max(spacing, away_of.away)


def spacing_between_hz(parties: tuple[Party, ...], one: int, other: int) -> int:
    """The same in Hz, as it is asked and not rounded up to steps."""
    first, second = parties[one], parties[other]
    spacing_hz = max(first.asked.spacing_hz, second.asked.spacing_hz)
    away_of = _keeping_away(first, second)
    return spacing_hz if away_of is None else max(spacing_hz, away_of.asked.away_hz)


def _keeping_away(first: Party, second: Party) -> Party | None:
    """Of a microphone and something else the latter, which keeps away; None for others."""
    kinds = {first.kind, second.kind}
    if len(kinds) == 1 or None in kinds or Kind.MICROPHONE not in kinds:
        return None
    return second if first.kind is Kind.MICROPHONE else first


def _scenes(request: Request, parties: tuple[Party, ...]) -> list[frozenset[int]]:
    """Which parties are on air together. Strangers always are; a group that no scene names is alone with them."""
    everybody = frozenset(range(len(parties)))
    if not request.scene:
        return [everybody]
    numbers = {group.name: index for index, group in enumerate(request.group)}
    strangers = everybody - frozenset(numbers.values())
    named = [frozenset(numbers[name] for name in scene.groups) for scene in request.scene]
    alone = [frozenset([number]) for number in numbers.values() if not any(number in scene for scene in named)]
    return [scene | strangers for scene in (*named, *alone)]


def _heard(request: Request, parties: tuple[Party, ...], party: int, scene: frozenset[int]) -> frozenset[int]:
    return frozenset(other for other in scene if other == party or _hears(request, parties[party], parties[other]))


def _hears(request: Request, party: Party, other: Party) -> bool:
    return not (party.zone and other.zone and are_isolated(request, party.zone, other.zone, party.isolation_needed_db))


def _group_party(request: Request, group: Group) -> Party:
    profile = request.profile_of(group)
    away = _steps(request, group.away_hz)
    asked = _asked(profile, profile.spacing_hz, group.away_hz)
    return Party(group.zone, group.kind, away, profile.isolation_needed_db, _needs(request, profile), asked)


def _protected_party(request: Request, protected: Protected) -> Party:
    spacing = _steps(request, protected.spacing_hz)
    if not protected.profile:
        return Party(protected.zone, None, 0, 0.0, Needs(spacing), Asked(protected.spacing_hz))
    profile = request.profile_named(protected.profile)
    needs = _needs(request, profile)
    widened = Needs(max(spacing, needs.spacing), needs.two, needs.three, needs.fifth, needs.weight_maximum)
    asked = _asked(profile, max(protected.spacing_hz, profile.spacing_hz), 0)
    return Party(protected.zone, None, 0, profile.isolation_needed_db, widened, asked)


def _asked(profile: Profile, spacing_hz: int, away_hz: int) -> Asked:
    return Asked(
        spacing_hz,
        profile.third_two_signal_hz,
        profile.third_three_signal_hz,
        profile.fifth_two_signal_hz,
        away_hz,
    )


def _needs(request: Request, profile: Profile) -> Needs:
    two, three, fifth = (
        _steps(request, guard_hz)
        for guard_hz in (profile.third_two_signal_hz, profile.third_three_signal_hz, profile.fifth_two_signal_hz)
    )
    return Needs(_steps(request, profile.spacing_hz), two, three, fifth, _weight_maximum(request, profile))


def _weight_maximum(request: Request, profile: Profile) -> int | None:
    """How many products as strong as 2A - B a carrier bears: 2 (intercept - level) - 10 log10 of them is its ratio.

    From P = 3 P_in - 2 IIP3 for equal carriers; A + B - C is 20 log10 2 stronger, four times in power.
    """
    needed_db, front_end = profile.carrier_to_interference_db, request.front_end
    if needed_db is None or front_end is None:
        return None
    one_db = 2.0 * (front_end.intercept_dbm - front_end.carrier_dbm)
    return int(10.0 ** ((one_db - needed_db + ROUNDING_DB) / 10.0)) if one_db - needed_db < 150.0 else None


def _steps(request: Request, hertz: int) -> int:
    return -(-hertz // request.raster_hz)
