"""A plan: which carrier of which group stands where; and how it keeps the rules of its request."""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

import numpy as np
from numpy.typing import NDArray

from fleet.physics.intermodulation import Family, layout
from fleet.planning.coordination.allowed import allowed_points, span_of
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.rooms import ROUNDING_DB, Asked, Needs, Party, parties_of, rooms_of, spacing_between_hz

FAMILIES = (Family.THIRD_TWO, Family.THIRD_THREE, Family.FIFTH_TWO)
# A + B - C is 20 log10 2 above 2A - B of the same carriers: four times its power.
THREE_SIGNAL_WEIGHT = 4
OUTSIDE = "outside every window, or excluded"


@dataclass(frozen=True, slots=True, order=True)
class Carrier:
    """One carrier of a plan; ``point`` is its frequency as a multiple of the raster."""

    group: int
    point: int


@dataclass(frozen=True, slots=True)
class Fault:
    """A rule that a plan breaks: which, at what frequency, and by how much too little, in Hz or in dB."""

    rule: str
    frequency_hz: int
    short_hz: int = 0
    short_db: float = 0.0


@dataclass(frozen=True, slots=True)
class Margin:
    """How much further off than it must the nearest thing of one rule keeps from a carrier."""

    rule: str
    frequency_hz: int
    margin_hz: int
    group: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a check found; ``worst_margin_hz`` is how much more than asked the nearest product or neighbour is off.

    ``worst_ratio_db`` is the least carrier-to-interference of carriers that ask for one.
    """

    faults: tuple[Fault, ...]
    worst_margin_hz: int | None
    worst_ratio_db: float | None = None


def guards_of(needs: Needs) -> dict[Family, int]:
    """How far products of each family keep off, in raster steps; families that are switched off are left out."""
    wanted = zip(FAMILIES, (needs.two, needs.three, needs.fifth), strict=True)
    return {family: guard for family, guard in wanted if guard > 0}


def check(request: Request, carriers: tuple[Carrier, ...]) -> Verdict:
    """Hold a plan against all rules of its request: places, spacing, and the products of everybody who is heard."""
    found = margins(request, carriers)
    faults = [*_misplaced(request, carriers)]
    faults += [Fault(each.rule, each.frequency_hz, -each.margin_hz) for each in found if each.margin_hz < 0]
    ratios = _ratios(request, carriers)
    faults += [
        Fault("carrier-to-interference", frequency_hz, short_db=round(needed_db - ratio_db, 2))
        for frequency_hz, ratio_db, needed_db in ratios
        if ratio_db < needed_db - ROUNDING_DB
    ]
    worst_ratio_db = min((round(ratio_db, 2) for _, ratio_db, _ in ratios), default=None)
    return Verdict(tuple(faults), min((each.margin_hz for each in found), default=None), worst_ratio_db)


def margins(request: Request, carriers: tuple[Carrier, ...]) -> list[Margin]:
    """For each carrier and each rule on it: how much further off things keep than they must."""
    parties = parties_of(request)
    standing = (*carriers, *strangers_of(request))
    found: list[Margin] = []
    for room in rooms_of(request, parties):
        here = [carrier for carrier in standing if carrier.group in room.victims]
        heard = [carrier for carrier in standing if carrier.group in room.heard]
        points = np.array(sorted({carrier.point for carrier in heard}), dtype=np.int64)
        wanted = {family for carrier in here for family in guards_of(parties[carrier.group].needs)}
        products = {family: _occupied(points, family) for family in wanted}
        for carrier in here:
            others = list(heard)
            others.remove(carrier)  # Another one at the same place stays.
            found += _spacings(request, parties, carrier, others)
            twins = len({each.point for each in others}) < len(others)
            for family, guard_hz in _guards_hz(parties[carrier.group].asked).items():
                # With B and C at one place, which only third parties hear both, A + B - C falls on A.
                on_it = twins and family is Family.THIRD_THREE
                nearest = 0 if on_it else _nearest(products[family], carrier.point)
                if nearest is not None:
                    margin_hz = nearest * request.raster_hz - guard_hz
                    found.append(_margin(request, f"products {family.value}", carrier, margin_hz))
    return found


def standing(request: Request) -> tuple[Carrier, ...]:
    """The carriers of a request that are not to be moved."""
    raster = request.raster_hz
    return tuple(
        Carrier(number, frequency_hz // raster)
        for number, group in enumerate(request.group)
        for frequency_hz in (*group.fixed_hz, *group.locked_hz)
    )


def strangers_of(request: Request) -> tuple[Carrier, ...]:
    """Somebody else's carriers, numbered on after the groups."""
    first, raster = len(request.group), request.raster_hz
    return tuple(Carrier(first + index, each.frequency_hz // raster) for index, each in enumerate(request.protected))


def _spacings(request: Request, parties: tuple[Party, ...], carrier: Carrier, others: list[Carrier]) -> list[Margin]:
    """Each neighbour that is too near, and the one that keeps least. Between strangers nothing is asked."""
    ours = len(request.group)
    if carrier.group >= ours:
        others = [other for other in others if other.group < ours]
    needed_hz = [spacing_between_hz(parties, carrier.group, number) for number in range(len(parties))]
    left_hz = [abs(other.point - carrier.point) * request.raster_hz - needed_hz[other.group] for other in others]
    told = {*(each for each in left_hz if each < 0), min(left_hz)} if left_hz else set()
    return [_margin(request, "spacing", carrier, each) for each in sorted(told)]


def _margin(request: Request, rule: str, carrier: Carrier, margin_hz: int) -> Margin:
    return Margin(rule, carrier.point * request.raster_hz, margin_hz, carrier.group)


def missing(request: Request, carriers: tuple[Carrier, ...]) -> tuple[str, ...]:
    """What a plan lacks of its request, or has too much, in words: carriers of each group, and those to be kept."""
    found = []
    for number, group in enumerate(request.group):
        own = {carrier.point * request.raster_hz for carrier in carriers if carrier.group == number}
        if len(own) != group.count:
            found.append(f"{group.name}: {len(own)} of {group.count} carriers stand")
        for word, kept_hz in (("fixed", group.fixed_hz), ("locked", group.locked_hz)):
            found += [f"{group.name}: {hz} Hz, which is {word}, isn't there" for hz in kept_hz if hz not in own]
    return tuple(found)


def _guards_hz(asked: Asked) -> dict[Family, int]:
    wanted = zip(FAMILIES, (asked.two_hz, asked.three_hz, asked.fifth_hz), strict=True)
    return {family: guard_hz for family, guard_hz in wanted if guard_hz > 0}


def _misplaced(request: Request, carriers: tuple[Carrier, ...]) -> list[Fault]:
    raster, span = request.raster_hz, span_of(request)
    allowed = {number: allowed_points(request, group, span) for number, group in enumerate(request.group)}
    outside = [
        each
        for each in carriers
        if each.point * raster not in request.group[each.group].fixed_hz
        and not (each.point in span and allowed[each.group][each.point - span.start])
    ]
    return [Fault(OUTSIDE, each.point * raster, raster) for each in outside]


def _ratios(request: Request, carriers: tuple[Carrier, ...]) -> list[tuple[int, float, float]]:
    """Of each carrier that asks for a carrier-to-interference: its frequency, its ratio, and the ratio it needs."""
    parties, front_end = parties_of(request), request.front_end
    if front_end is None:
        return []
    one_db = 2.0 * (front_end.intercept_dbm - front_end.carrier_dbm)
    standing = (*carriers, *strangers_of(request))
    found = []
    for room in rooms_of(request, parties):
        heard = np.array([each.point for each in standing if each.group in room.heard], dtype=np.int64)
        for carrier in carriers:
            profile = request.profile_of(request.group[carrier.group])
            needed_db = profile.carrier_to_interference_db
            if carrier.group not in room.victims or needed_db is None:
                continue
            weight = _weight_on(heard, carrier.point, parties[carrier.group].needs)
            if weight:
                found.append((carrier.point * request.raster_hz, one_db - 10.0 * log10(weight), needed_db))
    return found


def _weight_on(points: NDArray[np.int64], point: int, needs: Needs) -> int:
    """What falls within half a spacing of a carrier: 2A - B counts one, A + B - C four; A, B and C all differ.

    Two carriers at the same place, which a third one hears though they don't hear each other, are two.
    """
    half = half_spacing(needs)
    low, high = np.triu_indices(len(points), 1)
    beside = int(np.sum(np.abs(points - point) < half))
    two = _within(np.sort(2 * points), points + point, half).sum() - beside  # Less A = B.
    # Less A + C - C, for each of the C that isn't A.
    three = _within(np.sort(points[low] + points[high]), points + point, half).sum() - beside * (len(points) - 1)
    return int(two + THREE_SIGNAL_WEIGHT * three)


def _within(places: NDArray[np.int64], around: NDArray[np.int64], half: int) -> NDArray[np.int64]:
    """How many of some sorted places lie less than ``half`` from each of others."""
    return np.searchsorted(places, around + half) - np.searchsorted(places, around - half, side="right")


def half_spacing(needs: Needs) -> int:
    """What is less than so many steps from a carrier falls within half its spacing."""
    return -(-needs.spacing // 2)


def _occupied(points: NDArray[np.int64], family: Family) -> NDArray[np.int64]:
    laid = layout(points, family)
    return np.asarray(np.flatnonzero(laid.counts) + laid.first)


def _nearest(places: NDArray[np.int64], point: int) -> int | None:
    if not len(places):
        return None
    at = int(np.searchsorted(places, point))
    near = places[max(0, at - 1) : at + 1]
    return int(np.abs(near - point).min())
