"""Sets with all differences distinct by algebra: starts for a search that luck alone would hardly find.

Ruzsa (1993): for a prime p with primitive root g, p i + (p - 1) g^i modulo p (p - 1), for i = 1 to p - 1. Any multiple
and any turn of such a set is one again. Laid out in units of the greatest guard, all products of the third order keep
off by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import gcd

from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.request import Request, points_of

PRIMES = (5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61)


def ruzsa(prime: int) -> tuple[int, ...]:
    """The set for a prime, sorted; its differences are distinct modulo p (p - 1)."""
    root = next(each for each in range(2, prime) if _is_primitive(each, prime))
    modulus = prime * (prime - 1)
    return tuple(sorted((prime * i + (prime - 1) * pow(root, i, prime)) % modulus for i in range(1, prime)))


def _is_primitive(root: int, prime: int) -> bool:
    powers = {pow(root, exponent, prime) for exponent in range(prime - 1)}
    return len(powers) == prime - 1


def ruler_starts(request: Request) -> Iterator[tuple[Carrier, ...]]:
    """Starts for a request of one window, one profile with guards and no exclusion: as many as fit, fullest first."""
    profiles = {group.profile for group in request.group}
    if len(profiles) != 1 or len(request.window) != 1 or request.exclusion or request.isolation:
        return
    profile = request.profile_of(request.group[0])
    widest_hz = max(profile.third_two_signal_hz, profile.third_three_signal_hz)
    if not widest_hz or profile.fifth_two_signal_hz:
        return
    unit = -(-widest_hz // request.raster_hz)
    apart = -(-profile.spacing_hz // (request.raster_hz * unit))
    span = points_of(request, request.window[0])
    asked = sum(group.count for group in request.group)
    rulers = sorted(_rulers((len(span) - 1) // unit, apart, asked), key=len, reverse=True)
    for ruler in rulers:
        yield _dealt(request, [span.start + unit * mark for mark in ruler])


def _rulers(length: int, apart: int, asked: int) -> Iterator[tuple[int, ...]]:
    """All windows of that length onto multiples of the sets that are big enough, thinned to the spacing."""
    for prime in PRIMES:
        modulus = prime * (prime - 1)
        if prime - 1 < min(asked, 4) or modulus > 4 * (length + 1):
            continue
        marks = ruzsa(prime)
        for times in range(1, modulus // 2):
            if gcd(times, modulus) == 1:
                yield _fullest(sorted(mark * times % modulus for mark in marks), modulus, length, apart)


def _fullest(marks: list[int], modulus: int, length: int, apart: int) -> tuple[int, ...]:
    """The fullest stretch of that length of a turned set, spaced as asked."""
    around = [*marks, *(mark + modulus for mark in marks)]
    best: tuple[int, ...] = ()
    for first in range(len(marks)):
        kept = [around[first]]
        for mark in around[first + 1 : first + len(marks)]:
            if mark - around[first] > length:
                break
            if mark - kept[-1] >= apart:
                kept.append(mark)
        if len(kept) > len(best):
            best = tuple(mark - kept[0] for mark in kept)
    return best


def _dealt(request: Request, points: list[int]) -> tuple[Carrier, ...]:
    """Points given to the groups in turn, each as many as it asks for."""
    groups = [index for index, group in enumerate(request.group) for _ in range(group.count)]
    return tuple(Carrier(group, point) for group, point in zip(groups, points, strict=False))
