"""A plan: which carrier of which group stands where; and how it keeps the rules of its request."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.intermodulation import Family, layout
from fleet.planning.coordination.request import Profile, Request, points_of

_FAMILIES = (Family.THIRD_TWO, Family.THIRD_THREE, Family.FIFTH_TWO)


@dataclass(frozen=True, slots=True, order=True)
class Carrier:
    """One carrier of a plan; ``point`` is its frequency as a multiple of the raster."""

    group: int
    point: int


@dataclass(frozen=True, slots=True)
class Fault:
    """A rule that a plan breaks: which, at what frequency, and by how much too little in Hz."""

    rule: str
    frequency_hz: int
    short_hz: int


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a check found; ``worst_margin_hz`` is how much more than asked the nearest product or neighbour is off."""

    faults: tuple[Fault, ...]
    worst_margin_hz: int | None


def guards_hz(profile: Profile) -> dict[Family, int]:
    """How far products of each family keep off carriers of a profile; families that are switched off are left out."""
    wanted = zip(
        _FAMILIES,
        (profile.third_two_signal_hz, profile.third_three_signal_hz, profile.fifth_two_signal_hz),
        strict=True,
    )
    return {family: guard for family, guard in wanted if guard > 0}


def check(request: Request, carriers: tuple[Carrier, ...]) -> Verdict:
    """Hold a plan against all rules of its request: places, spacing, and the products of everybody heard in a zone."""
    faults = [*_misplaced(request, carriers)]
    margins: list[int] = []
    for zone in dict.fromkeys(group.zone for group in request.group):
        here = [carrier for carrier in carriers if request.group[carrier.group].zone == zone]
        heard = [carrier for carrier in carriers if request.hears(zone, request.group[carrier.group].zone)]
        for rule, frequency_hz, margin_hz in _margins(request, here, heard):
            margins.append(margin_hz)
            if margin_hz < 0:
                faults.append(Fault(rule, frequency_hz, -margin_hz))
    return Verdict(tuple(faults), min(margins, default=None))


def _misplaced(request: Request, carriers: tuple[Carrier, ...]) -> list[Fault]:
    allowed = {point for window in request.window for point in points_of(request, window)}
    allowed -= {point for window in request.exclusion for point in points_of(request, window)}
    raster = request.raster_hz
    fixed = {hz // raster for group in request.group for hz in group.fixed_hz}
    outside = [each for each in carriers if each.point not in allowed and each.point not in fixed]
    return [Fault("outside every window, or excluded", each.point * raster, raster) for each in outside]


def _margins(request: Request, here: list[Carrier], heard: list[Carrier]) -> list[tuple[str, int, int]]:
    """For each carrier of a zone and each rule on it: how much further off things keep than they must, in Hz."""
    raster, found = request.raster_hz, []
    points = np.array(sorted({carrier.point for carrier in heard}), dtype=np.int64)
    products = {family: _occupied(points, family) for family in _FAMILIES}
    for carrier in here:
        profile = request.profile_of(request.group[carrier.group])
        for other in heard:
            if other != carrier:
                needed = max(profile.spacing_hz, request.profile_of(request.group[other.group]).spacing_hz)
                apart_hz = abs(other.point - carrier.point) * raster
                found.append(("spacing", carrier.point * raster, apart_hz - needed))
        for family, guard_hz in guards_hz(profile).items():
            nearest = _nearest(products[family], carrier.point)
            if nearest is not None:
                found.append((f"products {family.value}", carrier.point * raster, nearest * raster - guard_hz))
    return found


def _occupied(points: NDArray[np.int64], family: Family) -> NDArray[np.int64]:
    laid = layout(points, family)
    return np.asarray(np.flatnonzero(laid.counts) + laid.first)


def _nearest(places: NDArray[np.int64], point: int) -> int | None:
    if not len(places):
        return None
    at = int(np.searchsorted(places, point))
    near = places[max(0, at - 1) : at + 1]
    return int(np.abs(near - point).min())
