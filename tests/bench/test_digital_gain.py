"""How many more digital carriers stand in a window than analog ones, and what that rests on. Prints a table.

Common practice says up to about half as many again. The ratio depends on the window above all: equal spacing fills it
in proportion to its width, while carriers free of products grow with about the square root of that.
"""

from __future__ import annotations

import os
import time
from dataclasses import dataclass

import pytest

from fleet.planning.coordination.found import Found
from fleet.planning.coordination.plan import Carrier, check
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.search import search
from fleet.planning.what_if.margins import margins
from fleet.planning.what_if.site import Antenna, Site, Transmitter

IN_FULL = bool(os.environ.get("REDPOLL_BENCH"))
LIMIT_S = 6.0 if IN_FULL else 0.2
FIRST_HZ = 470_000_000
RASTER_HZ = 25_000
WIDTHS_HZ = (4_000_000, 6_000_000, 8_000_000, 16_000_000, 24_000_000, 48_000_000)
SPACINGS_HZ = (400_000, 500_000, 600_000)
WANTED_DB = 20.0
"""Common practice for the carrier-to-interference of a digital link."""
INTERCEPT_DBM = -7.5
FREE_SPACE_10_M_470_MHZ_DB = 45.890


@dataclass(frozen=True, slots=True)
class Guards:
    """What keeps an analog carrier free: its spacing, and how far products of two and of three keep off it."""

    words: str
    spacing_hz: int
    two_hz: int
    three_hz: int
    fifth_hz: int


ANALOG = (
    Guards("100 kHz from all products of the third order", 400_000, 100_000, 100_000, 0),
    Guards("common practice: 200, 150 and, of the fifth, 100 kHz", 350_000, 200_000, 150_000, 100_000),
)


def _request(width_hz: int, guards: Guards, count: int) -> Request:
    return read_request(
        f"""
raster_hz = {RASTER_HZ}
[[window]]
start_hz = {FIRST_HZ}
stop_hz = {FIRST_HZ + width_hz}
[[profile]]
name = "all alike"
spacing_hz = {guards.spacing_hz}
third_two_signal_hz = {guards.two_hz}
third_three_signal_hz = {guards.three_hz}
fifth_two_signal_hz = {guards.fifth_hz}
[[group]]
name = "House"
zone = "House"
profile = "all alike"
count = {count}
""",
        "gain.toml",
    )


def analog_carriers(width_hz: int, guards: Guards) -> int:
    """The most that the search places within its time; it proves no maximum."""
    begun_s = time.perf_counter()

    def should_stop(best: Found) -> bool:
        return best.complete or (best.steps > 0 and time.perf_counter() - begun_s > LIMIT_S)

    request = _request(width_hz, guards, width_hz // guards.spacing_hz + 1)
    found = search(request, 1, should_stop)
    assert not check(request, found.carriers).faults
    return len(found.carriers)


def digital_carriers(width_hz: int, spacing_hz: int) -> list[int]:
    """Equally spaced from edge to edge, as frequencies; a profile without guards finds nothing wrong with it."""
    frequencies_hz = list(range(FIRST_HZ, FIRST_HZ + width_hz + 1, spacing_hz))
    request = _request(width_hz, Guards("none", spacing_hz, 0, 0, 0), len(frequencies_hz))
    assert not check(request, tuple(Carrier(0, hz // RASTER_HZ) for hz in frequencies_hz)).faults
    return frequencies_hz


def loudest_dbm(frequencies_hz: list[int]) -> float:
    """How strong all carriers may be at an input of that intercept until the worst is 20 dB over its products.

    Products gain 3 dB for each dB of all carriers, so that the ratio loses 2 for each; reckoned from -40 dBm.
    """
    eirp_dbm = -40.0 + FREE_SPACE_10_M_470_MHZ_DB
    packs = tuple(Transmitter(hz, "House", "House", eirp_dbm, "eirp", distance_m=10.0) for hz in frequencies_hz)
    antenna = Antenna("House left", "House", (0.0, 0.0), intercept_dbm=INTERCEPT_DBM)
    found = margins(Site(packs, (antenna,)))
    ratios_db = [each.over_products_db for each in found if each is not None and each.over_products_db is not None]
    return -40.0 + (min(ratios_db) - WANTED_DB) / 2.0


@pytest.mark.parametrize("guards", ANALOG, ids=[guards.words for guards in ANALOG])
def test_the_digital_gain(guards: Guards) -> None:
    print(f"\nanalog: {guards.spacing_hz // 1_000} kHz apart, {guards.words}; {LIMIT_S:g} s of search, no proof")
    print("window MHz          analog  digital at 400, 500, 600 kHz (times analog; loudest dBm at 20 dB of C/I)")
    for width_hz in WIDTHS_HZ:
        analog = analog_carriers(width_hz, guards)
        line = f"{FIRST_HZ / 1e6:g} to {(FIRST_HZ + width_hz) / 1e6:<12g}{analog:>4}"
        for spacing_hz in SPACINGS_HZ:
            frequencies_hz = digital_carriers(width_hz, spacing_hz)
            gain = len(frequencies_hz) / analog
            line += f"  {len(frequencies_hz):>4} ({gain:.2f}; {loudest_dbm(frequencies_hz):.1f})"
        print(line)
        assert 0 < analog <= width_hz // guards.spacing_hz + 1
