"""What a request might give up so that more carriers fit, and how many more each would bring."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

from msgspec.structs import replace

from fleet.planning.coordination.found import Found
from fleet.planning.coordination.reading import contradiction
from fleet.planning.coordination.request import Exclusion, Group, Isolation, Profile, Request, Window
from fleet.planning.coordination.search import search

LISTED_MAXIMUM = 5
"""Of exclusions, zones and groups so many are tried at the most: the widest, or the first."""
WIDER_HZ = 8_000_000
STEPS_OF_EACH = 24
_HZ_PER_MHZ = 1e6
_HZ_PER_KHZ = 1e3


@dataclass(frozen=True, slots=True)
class Relaxed:
    """A request that asks for less, and what it gives up in words."""

    words: str
    request: Request


@dataclass(frozen=True, slots=True)
class Gain:
    """What giving something up brings: so many carriers in all, so many more than now."""

    words: str
    carriers: int
    gain: int


def gains(
    request: Request, best: Found, seed: int, should_stop: Callable[[], bool], steps: int = STEPS_OF_EACH
) -> tuple[Gain, ...]:
    """What each relaxation would bring, the best first; each is searched from the best plan for so many steps.

    Asked after each step, ``should_stop`` ends it with what is known by then. None for a plan that is complete.
    """
    found: list[Gain] = []
    if best.complete:
        return ()
    for relaxed in relaxations(request):
        if should_stop():
            break
        with_it = search(
            relaxed.request, seed, lambda so_far: so_far.steps >= steps or should_stop(), start=best.carriers
        )
        more = len(with_it.carriers) - len(best.carriers)
        found.append(Gain(relaxed.words, max(len(with_it.carriers), len(best.carriers)), max(0, more)))
    return tuple(sorted(found, key=lambda gain: -gain.gain))


def relaxations(request: Request) -> Iterator[Relaxed]:
    """Every single thing that the request might give up and still hold together."""
    for relaxed in _all(request):
        if contradiction(relaxed.request) is None:
            yield relaxed


def _all(request: Request) -> Iterator[Relaxed]:
    for index, profile in enumerate(request.profile):
        for words, other in _profiles(request, profile):
            profiles = (*request.profile[:index], other, *request.profile[index + 1 :])
            yield Relaxed(f"{profile.name}: {words}", replace(request, profile=profiles))
    yield from _groups(request)
    yield from _room(request)
    zones = list(dict.fromkeys(group.zone for group in request.group))
    apart = {frozenset(each.zones) for each in request.isolation if each.isolation_db is None}
    together = [pair for pair in combinations(zones, 2) if frozenset(pair) not in apart]
    for zone, other_zone in together[:LISTED_MAXIMUM]:
        kept = tuple(each for each in request.isolation if set(each.zones) != {zone, other_zone})
        isolation = (*kept, Isolation((zone, other_zone)))
        yield Relaxed(f"{zone} and {other_zone} isolated from one another", replace(request, isolation=isolation))


def _profiles(request: Request, profile: Profile) -> Iterator[tuple[str, Profile]]:
    fifth, three, two = profile.fifth_two_signal_hz, profile.third_three_signal_hz, profile.third_two_signal_hz
    if fifth:
        yield "no guard against the fifth order", replace(profile, fifth_two_signal_hz=0)
    if three:
        words = f"three-signal products {_khz(three // 2)} off in place of {_khz(three)}"
        yield words, replace(profile, third_three_signal_hz=three // 2)
        yield "no guard against three-signal products", replace(profile, third_three_signal_hz=0)
    if two:
        words = f"two-signal products {_khz(two // 2)} off in place of {_khz(two)}"
        yield words, replace(profile, third_two_signal_hz=two // 2)
    narrower = profile.spacing_hz * 3 // 4 // request.raster_hz * request.raster_hz
    if 0 < narrower < profile.spacing_hz:
        words = f"spacing of {_khz(narrower)} in place of {_khz(profile.spacing_hz)}"
        yield words, replace(profile, spacing_hz=narrower)
    ratio_db = profile.carrier_to_interference_db
    if ratio_db is not None and ratio_db > 0:
        less_db = max(0.0, ratio_db - 3.0)
        words = f"a carrier-to-interference of {less_db:g} dB in place of {ratio_db:g} dB"
        yield words, replace(profile, carrier_to_interference_db=less_db)


def _groups(request: Request) -> Iterator[Relaxed]:
    bearing = next((each.name for each in request.profile if not each.has_guards), None)
    guarded = [group for group in request.group if request.profile_of(group).has_guards]
    for group in guarded[:LISTED_MAXIMUM] if bearing else ():
        yield Relaxed(f"{group.name} as {bearing}", _with_group(request, group, replace(group, profile=bearing)))
    locked = [group for group in request.group if group.locked_hz]
    for group in locked[:LISTED_MAXIMUM]:
        words = f"{group.name}: locked carriers free to move"
        yield Relaxed(words, _with_group(request, group, replace(group, locked_hz=())))
    tuned = [group for group in request.group if group.tuning]
    for group in tuned[:LISTED_MAXIMUM]:
        words = f"{group.name} on devices that tune over all windows"
        yield Relaxed(words, _with_group(request, group, replace(group, tuning="")))


def _with_group(request: Request, group: Group, other: Group) -> Request:
    return replace(request, group=tuple(other if each is group else each for each in request.group))


def _room(request: Request) -> Iterator[Relaxed]:
    widest = sorted(request.exclusion, key=lambda each: each.start_hz - each.stop_hz)[:LISTED_MAXIMUM]
    for exclusion in widest:
        kept = tuple(each for each in request.exclusion if each is not exclusion)
        yield Relaxed(f"{_span(exclusion)} not excluded", replace(request, exclusion=kept))
    if len(request.protected):
        yield Relaxed("nobody else's carriers protected", replace(request, protected=()))
    top = max(request.window, key=lambda each: each.stop_hz)
    bottom = min(request.window, key=lambda each: each.start_hz)
    above = Window(top.stop_hz, top.stop_hz + WIDER_HZ)
    yield Relaxed(f"{_span(above)} as well", replace(request, window=(*request.window, above)))
    if bottom.start_hz > WIDER_HZ:
        below = Window(bottom.start_hz - WIDER_HZ, bottom.start_hz)
        yield Relaxed(f"{_span(below)} as well", replace(request, window=(*request.window, below)))


def _span(window: Window | Exclusion) -> str:
    return f"{window.start_hz / _HZ_PER_MHZ:g} to {window.stop_hz / _HZ_PER_MHZ:g} MHz"


def _khz(hertz: int) -> str:
    return f"{hertz / _HZ_PER_KHZ:g} kHz"
