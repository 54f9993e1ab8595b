"""Sums of products against a sampled cubic non-linearity by numpy's FFT, and against enumeration by hand."""

from __future__ import annotations

from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.forecast import CarrierName
from fleet.planning.what_if.product_sums import POINTS_MAXIMUM, product_sums
from fleet.planning.what_if.worst_products import STRONGEST, Candidates

SAMPLES = 4_096
FIRST_BIN = 400
HZ_OF_BIN = 25_000
# All sums of three of these differ (a B3 set, by exhaustive search), so that no two products fall on one bin.
APART = (0, 1, 15, 18, 23)
LEVELS_DBM = (-30.0, -42.0, -25.0, -35.0, -28.0)
INTERCEPT_DBM = -7.5


def _bent_spectrum_dbm() -> np.ndarray:
    """The carriers of these levels behind y = x - c x^3; at the intercept, 3/4 c a^2 is 1."""
    moments = 2.0 * np.pi * np.arange(SAMPLES) / SAMPLES
    amplitudes = np.sqrt(10.0 ** (np.array(LEVELS_DBM) / 10.0))
    entering = sum(size * np.cos((FIRST_BIN + bin_) * moments) for size, bin_ in zip(amplitudes, APART, strict=True))
    cubic = 4.0 / 3.0 / 10.0 ** (INTERCEPT_DBM / 10.0)
    spectrum = np.abs(np.fft.rfft(entering - cubic * entering**3)) * 2.0 / SAMPLES
    return np.asarray(20.0 * np.log10(np.maximum(spectrum, 1e-9)))


def _enumerated_mw(hz: list[int], dbm: list[float], victim_hz: int, half_width_hz: float) -> float:
    """Products by their arithmetic: 2 Pa + Pb - 2 IIP3, and Pa + Pb + Pc - 2 IIP3 + 6.0206."""
    found = 0.0
    carriers = list(zip(hz, dbm, strict=True))
    for (a_hz, a_dbm), (b_hz, b_dbm) in permutations(carriers, 2):
        if abs(2 * a_hz - b_hz - victim_hz) < half_width_hz:
            found += 10.0 ** ((2 * a_dbm + b_dbm - 2 * INTERCEPT_DBM) / 10.0)
    for a, b in combinations(carriers, 2):
        for c in carriers:
            if c not in {a, b} and abs(a[0] + b[0] - c[0] - victim_hz) < half_width_hz:
                found += 10.0 ** ((a[1] + b[1] + c[1] - 2 * INTERCEPT_DBM + 20.0 * np.log10(2.0)) / 10.0)
    return found


def test_every_product_is_as_strong_as_a_spectrum_says() -> None:
    spectrum = _bent_spectrum_dbm()
    hz = np.array([(FIRST_BIN + bin_) * HZ_OF_BIN for bin_ in APART])
    sums = product_sums(hz, 10.0 ** (np.array(LEVELS_DBM) / 10.0), INTERCEPT_DBM)
    seen = 0
    for bin_ in sorted(set(range(FIRST_BIN - 23, FIRST_BIN + 47)) - {FIRST_BIN + each for each in APART}):
        there_mw = float(sums.within_mw(np.array([bin_ * HZ_OF_BIN]), np.array([HZ_OF_BIN / 2.0]))[0])
        if spectrum[bin_] < -170.0:
            assert there_mw == pytest.approx(0.0, abs=1e-16)
        else:
            assert 10.0 * np.log10(there_mw) == pytest.approx(spectrum[bin_], abs=0.01)
            seen += 1
    assert seen == 5 * 4 + 5 * 4 * 3 // 2, "N(N - 1) products of two and N(N - 1)(N - 2)/2 of three (Babcock 1953)"


@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.floats(-70.0, -20.0)), min_size=1, max_size=8, unique_by=lambda each: each[0]
    ),
    st.integers(-70, 130),
    st.sampled_from([10_000.0, 100_000.0, 112_500.0]),
)
def test_sums_and_the_worst_are_those_of_enumeration(
    carriers: list[tuple[int, float]], victim: int, half_width_hz: float
) -> None:
    hz = [600_000_000 + 25_000 * place for place, _ in carriers]
    dbm = [level for _, level in carriers]
    victim_hz = 600_000_000 + 25_000 * victim
    expected_mw = _enumerated_mw(hz, dbm, victim_hz, half_width_hz)
    sums = product_sums(np.array(hz), 10.0 ** (np.array(dbm) / 10.0), INTERCEPT_DBM)
    found_mw = float(sums.within_mw(np.array([victim_hz]), np.array([half_width_hz]))[0])
    # What is 130 dB below the strongest sum is the transform's rounding.
    strongest_mw = 10.0 ** ((3.0 * max(dbm) - 2.0 * INTERCEPT_DBM) / 10.0)
    assert found_mw == pytest.approx(expected_mw, rel=1e-6, abs=len(dbm) ** 3 * 1e-12 * strongest_mw)
    worst = Candidates([CarrierName("House", each) for each in hz], np.array(dbm), INTERCEPT_DBM).worst(
        victim_hz, half_width_hz
    )
    assert (worst is None) == (expected_mw == 0.0)
    if worst is not None:
        assert worst.is_proven
        assert 10.0 ** (worst.level_dbm / 10.0) <= expected_mw * (1.0 + 1e-9)


def test_the_worst_product_is_the_strongest_of_all() -> None:
    """Of 599.4 MHz: 600.0 + 600.4 - 601.0 at -83.98 dBm beats 2 x 599.8 - 600.2 at -90, which is 6.02 dB weaker."""
    hz = (599_800_000, 600_000_000, 600_200_000, 600_400_000, 601_000_000)
    found = Candidates([CarrierName("House", each) for each in hz], np.full(5, -30.0), 0.0).worst(
        599_400_000, 100_000.0
    )
    assert found is not None
    assert found.level_dbm == pytest.approx(-83.98, abs=0.005)


def test_carriers_on_one_frequency_count_as_one_of_their_sum() -> None:
    """Two of -33.01 dBm are one of -30: 3 x (-30) dBm behind an intercept of 0 with another at -30."""
    hz = np.array([600_000_000, 600_000_000, 600_400_000])
    sums = product_sums(hz, 10.0 ** (np.array([-33.0103, -33.0103, -30.0]) / 10.0), 0.0)
    found_mw = sums.within_mw(np.array([599_600_000]), np.array([100_000.0]))
    assert 10.0 * np.log10(found_mw[0]) == pytest.approx(-90.0, abs=0.001)


def test_frequencies_off_any_raster_are_rounded_to_the_finest() -> None:
    """Prime numbers of hertz share no raster; each place is off by half a kilohertz at the most, a product by 1.5."""
    hz = [600_000_007, 600_400_009, 607_000_003]
    sums = product_sums(np.array(hz), 10.0 ** (np.array([-30.0, -30.0, -60.0]) / 10.0), 0.0)
    assert sums.step_hz == 1_000
    found_mw = sums.within_mw(np.array([2 * hz[0] - hz[1]]), np.array([2_000.0]))
    assert 10.0 * np.log10(found_mw[0]) == pytest.approx(-90.0, abs=0.001)


def test_a_grid_over_two_bands_stays_within_its_bound() -> None:
    hz = np.array([470_000_000, 470_400_000, 2_400_000_000])
    sums = product_sums(hz, 10.0 ** (np.full(3, -30.0) / 10.0), 0.0)
    assert len(sums.sums) <= 3 * POINTS_MAXIMUM + 2
    found_mw = sums.within_mw(np.array([469_600_000]), np.array([100_000.0]))
    assert 10.0 * np.log10(found_mw[0]) == pytest.approx(-90.0, abs=0.001)


def test_nothing_makes_no_products() -> None:
    nobody = product_sums(np.array([], dtype=np.int64), np.array([]), 0.0)
    assert nobody.within_mw(np.array([600_000_000]), np.array([1e5])).tolist() == [0.0]


def test_a_product_of_weak_makers_is_not_called_the_worst_for_certain() -> None:
    """What two loud ones make is proven. At 622.475 MHz they make something with one too weak to be looked at."""
    weak = [-80.0 - 0.01 * number for number in range(STRONGEST + 20)]
    hz = [600_000_000, 600_400_000, *(620_000_000 + 25_000 * number for number in range(len(weak)))]
    found = Candidates([CarrierName("House", each) for each in hz], np.array([-30.0, -30.0, *weak]), 0.0)
    loud, faint = found.worst(599_600_000, 1_000.0), found.worst(622_475_000, 1_000.0)
    assert loud is not None
    assert faint is not None
    assert loud.is_proven
    assert not faint.is_proven
    assert faint.level_dbm < -200.0
    sums = product_sums(np.array(hz), 10.0 ** (np.array([-30.0, -30.0, *weak]) / 10.0), 0.0)
    whole_mw = sums.within_mw(np.array([622_475_000]), np.array([1_000.0]))
    assert 10.0 * np.log10(whole_mw[0]) == pytest.approx(-60.0 - 80.83 + 6.02, abs=0.01), "the sum holds it"


def test_many_carriers_are_summed_whole() -> None:
    """No maker is left out of the sums: ten victims among 300 carriers, held by a table of pairs written out here."""
    luck = np.random.default_rng(5)
    points = np.sort(luck.choice(8_961, 300, replace=False))
    hz, dbm = 470_000_000 + 25_000 * points, luck.uniform(-60.0, -30.0, 300)
    sums = product_sums(hz, 10.0 ** (dbm / 10.0), INTERCEPT_DBM)
    for victim in luck.choice(300, 10, replace=False):
        expected_mw = _by_pairs_mw(points, 10.0 ** (dbm / 10.0), int(points[victim]))
        found_mw = float(sums.within_mw(hz[[victim]], np.array([100_000.0]))[0])
        assert found_mw == pytest.approx(expected_mw, rel=1e-6)


def _by_pairs_mw(points: np.ndarray, power_mw: np.ndarray, victim: int) -> float:
    """Powers of products less than four steps off a victim, by a table of who stands where."""
    standing = np.zeros(30_000)
    standing[points + 10_000] = power_mw
    found = 0.0
    for off in range(-3, 4):
        first, second = np.meshgrid(np.arange(len(points)), np.arange(len(points)), indexing="ij")
        third = points[first] + points[second] - victim - off
        third_mw = standing[third + 10_000]
        distinct = (third != points[first]) & (third != points[second])
        two = (first == second) & distinct
        three = (first < second) & distinct
        weights = power_mw[first] * power_mw[second] * third_mw
        found += float(weights[two].sum() + 4.0 * weights[three].sum())
    return float(found / 10.0 ** (2.0 * INTERCEPT_DBM / 10.0))
