"""Spares in their order: legal by products worked out by hand, quiet by common practice, aged by given times."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import points_of
from fleet.planning.coordination.search import search
from fleet.planning.spares import ON_THE_AIR, PRACTICE, Look, Practice, RankedSpare, Spare, Standing, ranked
from tests.planning.coordination.brute import broken
from tests.planning.coordination.random_requests import random_request
from tests.promises.promise import TIER, Tier

REQUEST_TEXT = """
raster_hz = 25_000
[[window]]
start_hz = 598_000_000
stop_hz = 606_000_000
[[exclusion]]
start_hz = 603_000_000
stop_hz = 604_000_000
[[profile]]
name = "analog"
spacing_hz = 400_000
third_two_signal_hz = 100_000
third_three_signal_hz = 100_000
[[group]]
name = "House"
zone = "House"
profile = "analog"
count = 16
"""
REQUEST = read_request(REQUEST_TEXT, "spares.toml")
REQUESTS = {Tier.TEST: 20, Tier.SOAK: 300, Tier.LONG: 3_000}[TIER]
MINUTE_US = 60_000_000
NOW_US = 100 * MINUTE_US
FRESH = Look(NOW_US - MINUTE_US, -104.0, -105.0)


def _carrier(frequency_hz: int) -> Carrier:
    return Carrier(0, frequency_hz // 25_000)


ACTIVE = (_carrier(600_000_000), _carrier(600_400_000))


def _ranked(*spares: tuple[int, Look | None]) -> list[tuple[int, Standing]]:
    given_ = [Spare(_carrier(hz), look) for hz, look in spares]
    found = ranked(REQUEST, ACTIVE, given_, NOW_US)
    assert [each.rank for each in found] == list(range(1, len(spares) + 1))
    return [(each.spare.carrier.point * 25_000, each.standing) for each in found]


def _one(frequency_hz: int, look: Look | None, practice: Practice = PRACTICE) -> RankedSpare:
    return ranked(REQUEST, ACTIVE, [Spare(_carrier(frequency_hz), look)], NOW_US, practice)[0]


@pytest.mark.parametrize(
    ("frequency_hz", "rule"),
    [
        (600_800_000, "products 2A-B"),  # 600.0 and 600.4 MHz make 599.6 and 600.8.
        (599_600_000, "products 2A-B"),
        (600_200_000, "spacing"),
        (600_000_000, ON_THE_AIR),
        (603_500_000, "outside every window, or excluded"),
        (607_000_000, "outside every window, or excluded"),
    ],
)
def test_a_spare_that_breaks_a_rule_is_illegal(frequency_hz: int, rule: str) -> None:
    found = _one(frequency_hz, FRESH)
    assert found.standing is Standing.ILLEGAL
    assert rule in {fault.rule for fault in found.faults}


def test_a_spare_whose_products_fall_on_others_is_illegal() -> None:
    """Beside 600.0 and 601.0 MHz, 600.5 is no product of theirs; but 2 x 600.5 - 600.0 is 601.0."""
    active = (_carrier(600_000_000), _carrier(601_000_000))
    found = ranked(REQUEST, active, [Spare(_carrier(600_500_000), FRESH)], NOW_US)[0]
    assert found.standing is Standing.ILLEGAL
    assert {601_000_000, 600_000_000} <= {fault.frequency_hz for fault in found.faults}


def test_a_legal_one_is_verified_by_a_fresh_quiet_look() -> None:
    """600.0, 600.4 and 601.0 MHz: their products keep 200 kHz off (599.4, 600.6, 601.4 and those of two)."""
    found = _one(601_000_000, FRESH)
    assert (found.standing, found.age_us, found.faults) == (Standing.VERIFIED, MINUTE_US, ())
    assert found.over_floor_db == pytest.approx(1.0)
    assert found.worst_margin_hz == 0, "600.0 and 600.4 keep exactly their 400 kHz"


@pytest.mark.parametrize(
    ("look", "standing"),
    [
        (None, Standing.UNVERIFIED),
        (Look(NOW_US - 10 * MINUTE_US, -104.0, -105.0), Standing.VERIFIED),
        (Look(NOW_US - 10 * MINUTE_US - 1, -104.0, -105.0), Standing.UNVERIFIED),
        (Look(NOW_US + 1, -104.0, -105.0), Standing.UNVERIFIED),
        (Look(NOW_US, -95.0, -105.0), Standing.TAKEN),
        (Look(NOW_US, -95.1, -105.0), Standing.VERIFIED),
        (Look(NOW_US - 60 * MINUTE_US, -60.0, -105.0), Standing.TAKEN),
        (Look(NOW_US, float("nan"), -105.0), Standing.TAKEN),
    ],
)
def test_what_a_look_is_worth(look: Look | None, standing: Standing) -> None:
    """Common practice: below floor + 10 dB is quiet, and a look holds for ten minutes."""
    assert _one(601_000_000, look).standing is standing


def test_practice_can_be_another() -> None:
    half_an_hour_old = Look(NOW_US - 30 * MINUTE_US, -99.0, -105.0)
    assert _one(601_000_000, half_an_hour_old, Practice(10.0, 45 * MINUTE_US)).standing is Standing.VERIFIED
    assert _one(601_000_000, half_an_hour_old, Practice(6.0, 45 * MINUTE_US)).standing is Standing.TAKEN


def test_the_order() -> None:
    """Verified, unverified, taken, illegal; among equals the wider margin, then the younger look, then the lower."""
    old, loud = replace(FRESH, at_us=0), replace(FRESH, level_dbm=-60.0)
    fresher = replace(FRESH, at_us=NOW_US)
    assert _ranked(
        (600_800_000, FRESH),
        (602_000_000, loud),
        (601_700_000, old),
        (605_000_000, FRESH),
        (605_900_000, fresher),
        (601_000_000, None),
    ) == [
        (605_900_000, Standing.VERIFIED),
        (605_000_000, Standing.VERIFIED),
        (601_700_000, Standing.UNVERIFIED),
        (601_000_000, Standing.UNVERIFIED),
        (602_000_000, Standing.TAKEN),
        (600_800_000, Standing.ILLEGAL),
    ]


def test_the_wider_margin_goes_first() -> None:
    """Beside 601.5 MHz, 601.975 keeps 475 of its 400 kHz and 602.275 keeps 775; products are further off than that."""
    active = (_carrier(600_000_000), _carrier(601_500_000))
    spares = [Spare(_carrier(hz), FRESH) for hz in (601_975_000, 602_275_000)]
    found = ranked(REQUEST, active, spares, NOW_US)
    assert [each.spare.carrier.point * 25_000 for each in found] == [602_275_000, 601_975_000]
    assert [each.worst_margin_hz for each in found] == [375_000, 75_000]


def test_who_leaves_the_air_makes_room() -> None:
    """600.8 MHz is free as soon as 600.4 isn't there any more."""
    assert _one(600_800_000, FRESH).standing is Standing.ILLEGAL
    found = ranked(REQUEST, ACTIVE[:1], [Spare(_carrier(600_800_000), FRESH)], NOW_US)[0]
    assert found.standing is Standing.VERIFIED


def test_a_plan_that_is_broken_already_blames_no_spare() -> None:
    broken = (*ACTIVE, _carrier(600_800_000))
    found = ranked(REQUEST, broken, [Spare(_carrier(605_900_000), FRESH)], NOW_US)[0]
    assert (found.standing, found.faults) == (Standing.VERIFIED, ())


@pytest.mark.parametrize("seed", range(REQUESTS))
def test_what_is_legal_is_so_by_plain_enumeration(seed: int) -> None:
    """On random requests of several zones, scenes and profiles: a spare is legal if nothing is broken with it."""
    luck = np.random.default_rng(900 + seed)
    request = random_request(luck)
    active = search(request, seed, lambda found: found.complete or found.steps > 1).carriers
    assert not broken(request, active)
    group = luck.integers(len(request.group), size=8)
    window = luck.choice(len(request.window), size=8)
    points = [int(luck.choice(points_of(request, request.window[each]))) for each in window]
    spares = [Spare(Carrier(int(number), point)) for number, point in zip(group, points, strict=True)]
    for each in ranked(request, active, spares, NOW_US):
        if each.spare.carrier not in active:
            wrong = broken(request, (*active, each.spare.carrier))
            assert (each.standing is Standing.ILLEGAL) == bool(wrong), f"seed {seed}: {each.spare.carrier}: {wrong}"


def test_other_zones_do_not_come_into_it() -> None:
    """What is broken in a zone that doesn't hear the spare's narrows nothing and blames nobody."""
    quay = {"name": "Quay", "zone": "Quay", "profile": "analog", "count": 3}
    text = REQUEST_TEXT + "[[group]]\n" + "\n".join(f"{key} = {value!r}" for key, value in quay.items())
    request = read_request(text + "\n[[isolation]]\nzones = ['House', 'Quay']\n", "spares.toml")
    active = (*ACTIVE, *(Carrier(1, hz // 25_000) for hz in (604_500_000, 604_550_000)))
    found = ranked(request, active, [Spare(_carrier(601_000_000), FRESH)], NOW_US)[0]
    assert (found.standing, found.worst_margin_hz) == (Standing.VERIFIED, 0)


def test_no_more_than_their_bound() -> None:
    with pytest.raises(ValueError, match="at most 1000"):
        ranked(REQUEST, ACTIVE, [Spare(_carrier(601_000_000))] * 1_001, NOW_US)


@settings(max_examples=20)
@given(st.permutations([598_500_000, 599_000_000, 601_000_000, 601_700_000, 605_000_000, 600_800_000]))
def test_the_order_does_not_depend_on_how_they_were_given(frequencies_hz: list[int]) -> None:
    given_ = [Spare(_carrier(hz), FRESH) for hz in frequencies_hz]
    assert ranked(REQUEST, ACTIVE, given_, NOW_US) == ranked(REQUEST, ACTIVE, sorted(given_, key=str), NOW_US)
