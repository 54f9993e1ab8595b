"""The field of products and the list near a frequency, against every product written out by itertools."""

from __future__ import annotations

import math
from collections import Counter
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.physics.intermodulation import LAID_OUT, THIRD
from fleet.planning.coordination.field import FIFTH, heard_in, product_field, products_at
from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import Request

RASTER_HZ, FIRST, LAST = 25_000, 18_800, 18_900
TEXT = f"""
raster_hz = {RASTER_HZ}
[[window]]
start_hz = {FIRST * RASTER_HZ}
stop_hz = {(FIRST + 30) * RASTER_HZ}
[[window]]
start_hz = {(LAST - 10) * RASTER_HZ}
stop_hz = {LAST * RASTER_HZ}
[[profile]]
name = "digital"
spacing_hz = 100_000
[[group]]
name = "House"
zone = "House"
profile = "digital"
count = 100
[[group]]
name = "Cellar"
zone = "Cellar"
profile = "digital"
count = 100
[[isolation]]
zones = ["House", "Cellar"]
"""


def request() -> Request:
    return read_request(TEXT, "request.toml")


def written_out(points: set[int], order: int) -> Counter[int]:
    """Every product of different carriers that is laid out, by where it falls."""
    found: Counter[int] = Counter()
    for a, b in permutations(points, 2):
        found[2 * a - b if order == 3 else 3 * a - 2 * b] += 1
    for a, b, c in permutations(points, 3):
        if order == 3:
            found[a + b - c] += a < b
            continue
        found[2 * a + b - 2 * c] += 1
        found[3 * a - b - c] += b < c
    if order == 5:
        for a, b, c, d in permutations(points, 4):
            found[2 * a + b - c - d] += c < d
            found[a + b + c - 2 * d] += a < b < c
    return found


@given(st.sets(st.integers(FIRST - 20, LAST + 20), max_size=7))
@settings(max_examples=40)
def test_the_field_counts_every_product_where_it_falls(points: set[int]) -> None:
    field = product_field(request(), [Carrier(0, point) for point in points])
    assert (field.start_hz, field.step_hz) == (FIRST * RASTER_HZ, RASTER_HZ)
    for order, counts in ((3, field.third), (5, field.fifth)):
        expected = written_out(points, order)
        assert list(counts) == [expected[point] for point in range(FIRST, LAST + 1)]
    pairs = sum(1 for _ in combinations(points, 5)) * math.comb(5, 3)
    assert field.fifth_of_five == pairs, "of five different carriers, three are added and two taken away"


def test_carriers_of_one_frequency_make_products_once() -> None:
    here = [Carrier(0, FIRST), Carrier(0, FIRST + 4)]
    assert product_field(request(), [*here, Carrier(1, FIRST)]) == product_field(request(), here)


def test_a_zone_hears_only_what_is_heard_there() -> None:
    house, cellar = Carrier(0, FIRST), Carrier(1, FIRST + 4)
    assert heard_in(request(), [house, cellar], "House") == (house,)
    assert heard_in(request(), [house, cellar], "Cellar") == (cellar,)
    assert heard_in(request(), [house, cellar], None) == (house, cellar)


@given(st.sets(st.integers(FIRST, FIRST + 40), min_size=2, max_size=6), st.integers(FIRST, FIRST + 40))
@settings(max_examples=40)
def test_the_list_holds_every_product_near_the_frequency_the_nearest_first(points: set[int], victim: int) -> None:
    carriers = [Carrier(0, point) for point in points]
    found = products_at(request(), carriers, victim * RASTER_HZ, 4 * RASTER_HZ, LAID_OUT)
    near = [count for order in (3, 5) for at, count in written_out(points, order).items() if abs(at - victim) < 4]
    assert len(found) == sum(near)
    assert [each.distance_hz for each in found] == sorted(each.distance_hz for each in found)
    for each in found:
        assert abs(each.frequency_hz - victim * RASTER_HZ) == each.distance_hz < 4 * RASTER_HZ
        assert {hz // RASTER_HZ for hz in each.makers_hz} <= points
        assert each.level_dbm is None


def test_somebody_else_s_carriers_make_products_too_where_they_are_heard() -> None:
    stranger = f"""
[[protected]]
frequency_hz = {(FIRST + 4) * RASTER_HZ}
spacing_hz = 100_000
zone = "Cellar"
"""
    asked = read_request(TEXT + stranger, "request.toml")
    ours = [Carrier(0, FIRST)]
    assert [each.point for each in heard_in(asked, ours, "House")] == [FIRST]
    assert [each.point for each in heard_in(asked, ours, "Cellar")] == [FIRST + 4]
    field = product_field(asked, heard_in(asked, ours, None))
    assert [at for at, count in enumerate(field.third) if count] == [8], "2B - A alone lies in the windows"


def test_levels_follow_from_what_comes_into_the_receivers() -> None:
    """3 x -30 - 2 x -10 = -70 dBm for 2A - B, and 20 log10 2 = 6.02 dB more for A + B - C, as textbooks have it."""
    front = """
[front_end]
carrier_dbm = -30.0
intercept_dbm = -10.0
"""
    asked = read_request(TEXT + front, "request.toml")
    carriers = [Carrier(0, FIRST + each) for each in (0, 1, 3)]
    found = products_at(asked, carriers, (FIRST + 2) * RASTER_HZ, RASTER_HZ, LAID_OUT)
    assert [each.family for each in found[:2]] == ["A+B-C", "2A-B"]
    assert [each.level_dbm for each in found[:2]] == pytest.approx([-63.98, -70.0], abs=0.005)
    assert all(each.level_dbm is None for each in found[2:]), "of the fifth order nothing is known"


def test_the_families_are_of_their_orders() -> None:
    carriers = [Carrier(0, FIRST + each) for each in (0, 1, 3, 7)]
    for families in (THIRD, FIFTH):
        found = products_at(request(), carriers, (FIRST + 3) * RASTER_HZ, 10 * RASTER_HZ, families)
        assert {each.family for each in found} <= {family.value for family in families}


def test_off_the_raster_nothing_is_asked() -> None:
    with pytest.raises(ValueError, match="no multiple of the raster"):
        products_at(request(), [], FIRST * RASTER_HZ + 1, RASTER_HZ, THIRD)
