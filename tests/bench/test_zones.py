"""How many carriers many zones hold: a hundred mixed ones in three, a thousand in twenty, beside plain first fit.

Neighbouring zones hear one another, others are isolated by 40 dB. First fit takes each group in its turn and each
carrier at the lowest place that is left; it stands on the same ground of what is blocked, which tests hold to
enumeration. Prints a table, asserts no time.
"""

from __future__ import annotations

import os
import time
from dataclasses import dataclass

import pytest

from fleet.planning.coordination.found import Found
from fleet.planning.coordination.ground import Ground
from fleet.planning.coordination.plan import Carrier, check
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.search import search

IN_FULL = bool(os.environ.get("REDPOLL_BENCH"))


@dataclass(frozen=True, slots=True)
class Site:
    """Zones in a row, each with so many analog and so many digital carriers, and how long is searched."""

    words: str
    zones: int
    analog: int
    digital: int
    seconds: float


SITES = (
    Site("100 mixed carriers in three zones", 3, 8, 25, 30.0),
    Site("1,000 carriers in 20 zones", 20, 6, 44, 60.0),
)
SMALL = Site("20 carriers in two zones", 2, 3, 7, 0.5)
PROFILES = """
raster_hz = 25_000
[[window]]
start_hz = 470_000_000
stop_hz = 694_000_000
[[profile]]
name = "analog"
spacing_hz = 400_000
third_two_signal_hz = 100_000
third_three_signal_hz = 100_000
[[profile]]
name = "digital"
spacing_hz = 400_000
"""


def request_of(site: Site) -> Request:
    text = PROFILES
    for zone in range(site.zones):
        for profile, count in (("analog", site.analog), ("digital", site.digital)):
            text += f'[[group]]\nname = "{profile} {zone}"\nzone = "{zone}"\nprofile = "{profile}"\ncount = {count}\n'
    for zone in range(site.zones):
        for other in range(zone + 2, site.zones):
            text += f'[[isolation]]\nzones = ["{zone}", "{other}"]\nisolation_db = 40.0\n'
    return read_request(text, "site.toml")


def first_fit(request: Request) -> int:
    ground = Ground(request)
    for number, group in enumerate(request.group):
        for _ in range(group.count):
            free = ground.free(number)
            if not len(free):
                break
            ground.add(Carrier(number, int(free[0])))
    return len(ground.carriers)


@pytest.mark.parametrize("site", SITES if IN_FULL else (SMALL,), ids=lambda site: site.words)
def test_carriers_of_many_zones(site: Site) -> None:
    request = request_of(site)
    begun_s = time.perf_counter()
    plain = first_fit(request)
    print(f"\n{site.words}, {request.asked} asked\n{'':<28}{'placed':>8}{'seconds':>10}{'steps':>8}")
    print(f"{'first fit':<28}{plain:>8}{time.perf_counter() - begun_s:>10.2f}")
    begun_s = time.perf_counter()

    def row(found: Found) -> None:
        took_s = time.perf_counter() - begun_s
        print(f"{'the search, seed 1':<28}{len(found.carriers):>8}{took_s:>10.2f}{found.steps:>8}")

    best = search(request, 1, lambda _: time.perf_counter() - begun_s > site.seconds, row)
    row(best)
    assert check(request, best.carriers).faults == ()
