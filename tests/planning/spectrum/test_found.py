"""What a scan shows: carriers where they were put, full blocks by name, exclusions, and nothing in mere noise."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import signal

from fleet.errors import NotFound
from fleet.model.survey_found import Exclusion, FoundCarrier
from fleet.planning.coordination.request import Window
from fleet.planning.spectrum import exclusions as proposing
from fleet.planning.spectrum.compare import compare
from fleet.planning.spectrum.exclusions import as_toml, exclusions_of
from fleet.planning.spectrum.found import found_in
from fleet.planning.spectrum.regions import region_of
from fleet.planning.spectrum.stretches import merged, runs
from tests.planning.spectrum.scans import START_HZ, frequencies, scan_of, still

POINTS = 8_961
FREQUENCY_HZ = frequencies(POINTS)
REGION = region_of("region-1")


def noisy(seed: int, sweeps: int, carriers: dict[float, float], blocks: dict[int, float]) -> NDArray[np.float64]:
    """Sweeps of single looks at a floor of -105 dBm: carriers by megahertz, 8 MHz blocks by number, dB above it."""
    luck = np.random.default_rng(seed)
    power = luck.exponential(1.0, (sweeps, POINTS))
    for number, above_db in blocks.items():
        middle_hz = 306_000_000 + 8_000_000 * number
        inside = np.abs(FREQUENCY_HZ - middle_hz) < 3_800_000
        power[:, inside] += 10.0 ** (above_db / 10.0) * luck.exponential(1.0, (sweeps, int(inside.sum())))
    for middle_mhz, above_db in carriers.items():
        offset = (FREQUENCY_HZ - middle_mhz * 1e6) / 100_000.0
        power += 10.0 ** (above_db / 10.0) * np.exp(-2.0 * offset**2)
    return np.round(10.0 * np.log10(power) - 105.0, 2)


def test_carriers_and_blocks_are_found_where_they_were_put() -> None:
    carriers = {500.0: 40.0, 500.4: 45.0, 501.0: 25.0, 640.0: 60.0, 650.0125: 20.0}
    scan = scan_of(noisy(3, 4, carriers, {22: 30.0, 23: 20.0, 32: 15.0}), FREQUENCY_HZ, bandwidth_hz=25_000)
    found = found_in(scan, REGION)
    apart = [carrier for carrier in found.carriers if not carrier.block]
    assert [carrier.centre_hz for carrier in apart] == pytest.approx([mhz * 1e6 for mhz in carriers], abs=12_500)
    assert [carrier.above_floor_db for carrier in apart] == pytest.approx(list(carriers.values()), abs=2.0)
    assert all(carrier.occupancy == 1.0 and not carrier.wide for carrier in apart)
    assert [block.name for block in found.blocks if block.occupied] == ["22", "23", "32"]
    assert [point.floor_dbm for point in found.floor] == pytest.approx([-105.0] * 7, abs=1.0)
    assert found.looks == pytest.approx(1.0, abs=0.2)
    peaks, _ = signal.find_peaks(np.array(scan.maximum_dbm, dtype=float), height=-60.0, prominence=30.0, distance=10)
    assert {carrier.peak_hz for carrier in apart} >= {int(FREQUENCY_HZ[peak]) for peak in peaks if peak > 1_000}


def test_the_power_of_a_block_is_that_of_all_its_bandwidths() -> None:
    """-70 dBm in each 25 kHz, 320 of them in 8 MHz: 10 log10(320) = 25.05 dB more, by hand."""
    levels = still(POINTS, -105.0, {})
    levels[:, (FREQUENCY_HZ >= 478_000_000) & (FREQUENCY_HZ < 486_000_000)] = -70.0
    full = found_in(scan_of(levels, FREQUENCY_HZ, bandwidth_hz=25_000), REGION).blocks
    (block,) = [each for each in full if each.occupied]
    assert (block.name, block.share, block.level_dbm) == ("22", 1.0, -44.9)
    unknown = found_in(scan_of(levels, FREQUENCY_HZ), REGION).blocks
    assert {each.level_dbm for each in unknown} == {None}


@pytest.mark.parametrize("sweeps", [1, 6])
def test_noise_alone_shows_nothing(sweeps: int) -> None:
    found = [found_in(scan_of(noisy(seed, sweeps, {}, {}), FREQUENCY_HZ), REGION) for seed in (11, 12)]
    assert sum(len(each.carriers) for each in found) == 0
    assert not any(block.occupied for each in found for block in each.blocks)
    assert all(each.threshold_db > 10.0 for each in found), "so many single looks pass 10 dB by themselves"


def test_a_floor_that_stands_still_has_a_mark_of_ten_decibels() -> None:
    """Common practice: what stands more than 10 dB above the floor is kept out of, and nothing else."""
    found = found_in(scan_of(still(400, -105.0, {100: -94.9, 200: -95.1}), frequencies(400)))
    assert (found.threshold_db, found.looks) == (10.0, None)
    assert [carrier.peak_hz for carrier in found.carriers] == [START_HZ + 2_500_000]
    assert found.exclusions == (Exclusion(START_HZ + 2_487_500, START_HZ + 2_512_500, "survey of House left"),)


def test_two_peaks_with_a_deep_valley_are_two_and_with_a_shallow_one_are_one() -> None:
    deep = {100 + index: level for index, level in enumerate([-70.0, -60.0, -60.0, -85.0, -85.0, -85.0, -60.0, -60.0])}
    shallow = {100 + index: level for index, level in enumerate([-70.0, -60.0, -65.0, -65.0, -65.0, -60.0])}
    assert len(found_in(scan_of(still(400, -105.0, deep), frequencies(400))).carriers) == 2
    assert len(found_in(scan_of(still(400, -105.0, shallow), frequencies(400))).carriers) == 1


def test_exclusions_are_tables_of_a_request() -> None:
    words = 'survey of "Quay" \\ left'
    tables = tomllib.loads(as_toml([Exclusion(470_000_000, 470_500_000, words)]))["exclusion"]
    assert tables == [{"start_hz": 470_000_000, "stop_hz": 470_500_000, "words": words}]
    assert {"start_hz", "stop_hz"} <= set(Window.__struct_fields__)


def test_too_many_exclusions_become_fewer_that_cover_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(proposing, "EXCLUSIONS_MAXIMUM", 5)
    places = range(470_000_000, 480_000_000, 500_000)
    carriers = [FoundCarrier(hz, -60.0, 45.0, hz, hz - 50_000, hz + 50_000, 1.0) for hz in places]
    found = exclusions_of(carriers, [], "Quay", 0)
    assert 0 < len(found) <= 5
    assert all(any(each.start_hz <= hz <= each.stop_hz for each in found) for hz in places)


def test_stretches() -> None:
    assert merged([(5, 7), (1, 3), (3, 4), (9, 9)], 1) == [(1, 7), (9, 9)]
    assert merged([(5, 7), (1, 3), (3, 4), (9, 9)], 2) == [(1, 9)]
    assert runs(np.array([0, 1, 1, 0, 1, 0, 0, 1], dtype=bool), 1) == [slice(1, 5), slice(7, 8)]
    assert runs(np.zeros(4, dtype=bool)) == []


def test_a_region_that_nobody_knows() -> None:
    with pytest.raises(NotFound, match="atlantis"):
        region_of("atlantis")


@given(
    st.lists(st.integers(0, 400), min_size=1, max_size=120, unique=True),
    st.integers(1, 3),
    st.integers(0, 2**32 - 1),
    st.sampled_from([1_000, 25_000, 333_333]),
)
@settings(max_examples=40)
def test_whatever_was_measured_has_an_answer(points: list[int], sweeps: int, seed: int, step_hz: int) -> None:
    """Gaps, single points, wild levels: what is found lies within the scan, and exclusions cover every carrier."""
    places = START_HZ + step_hz * np.array(sorted(points), dtype=np.int64)
    levels = np.round(np.random.default_rng(seed).uniform(-130.0, -20.0, (sweeps, len(points))), 1)
    scan = scan_of(levels, places)
    found = found_in(scan, REGION)
    half_hz = scan.step_hz // 2
    for carrier in found.carriers:
        assert scan.start_hz - half_hz <= carrier.start_hz <= carrier.peak_hz <= carrier.stop_hz
        assert carrier.stop_hz <= scan.stop_hz + half_hz
        assert any(each.start_hz <= carrier.peak_hz <= each.stop_hz for each in found.exclusions)
    assert compare(scan, scan).changes == ()
