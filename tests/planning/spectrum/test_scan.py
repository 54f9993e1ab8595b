"""Scans put on one step without losing a peak; their greatest, median and occupancy against numpy's own."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import InvalidDocument, InvalidRequest
from fleet.journal.documents import BODY_BYTES_MAXIMUM
from fleet.model.act import LevelStretch, ScanLevels
from fleet.model.survey import POINTS_MAXIMUM, Circumstances
from fleet.model.survey_json import scan_as_object, scan_of_object
from fleet.planning.spectrum.gridding import grid_of, put_on
from fleet.planning.spectrum.scan import scan_of_acts
from tests.planning.spectrum.scans import ABOUT, START_HZ, frequencies, scan_of, still


def test_sweeps_are_put_together() -> None:
    """Point 40 stands 45 dB above the floor in two of five sweeps, point 50 always, point 60 9 dB above: no more."""
    levels = np.full((5, 200), -105.0)
    levels[[1, 3], 40] = -60.0
    levels[:, 50] = -70.0
    levels[:, 60] = -96.0
    scan = scan_of(levels, frequencies(200))
    assert (scan.sweeps, scan.start_hz, scan.step_hz, scan.stop_hz) == (5, START_HZ, 25_000, START_HZ + 199 * 25_000)
    assert (scan.maximum_dbm[40], scan.median_dbm[40], scan.occupancy[40]) == (-60.0, -105.0, 0.4)
    assert (scan.maximum_dbm[50], scan.median_dbm[50], scan.occupancy[50]) == (-70.0, -70.0, 1.0)
    assert (scan.maximum_dbm[60], scan.occupancy[60]) == (-96.0, 0.0)
    assert (scan.place, scan.instrument, scan.file, scan.source) == ("House left", "wand", "evening.csv", "file")


@given(st.integers(1, 6), st.integers(1, 30), st.integers(0, 2**32 - 1))
def test_greatest_and_median_are_numpy_s(sweeps: int, points: int, seed: int) -> None:
    levels = np.round(np.random.default_rng(seed).normal(-100.0, 8.0, (sweeps, points)), 2)
    frequency_hz = np.tile(frequencies(points), sweeps)
    placed = put_on(grid_of(frequency_hz), frequency_hz, levels.ravel(), np.repeat(np.arange(sweeps), points))
    assert np.array_equal(placed.maximum(), levels.max(axis=0))
    assert placed.median() == pytest.approx(np.median(levels, axis=0))
    assert placed.occupancy(np.full(points, -95.0)) == pytest.approx(np.mean(levels > -95.0, axis=0))


@given(st.lists(st.integers(470_000_000, 480_000_000), min_size=1, max_size=60, unique=True), st.integers(0, 59))
def test_no_peak_is_lost_on_steps_that_differ(places_hz: list[int], which: int) -> None:
    frequency_hz = np.array(sorted(places_hz), dtype=np.int64)
    levels = np.full(frequency_hz.size, -100.0)
    peak = which % frequency_hz.size
    levels[peak] = -40.0
    grid = grid_of(frequency_hz)
    maximum = put_on(grid, frequency_hz, levels, np.zeros(frequency_hz.size, np.int64)).maximum()
    assert np.nanmax(maximum) == -40.0
    assert abs(int(grid.frequency_hz[int(np.nanargmax(maximum))]) - int(frequency_hz[peak])) * 2 <= grid.step_hz
    assert grid.points <= POINTS_MAXIMUM
    assert int(grid.frequency_hz[-1]) + grid.step_hz // 2 >= int(frequency_hz[-1])


def test_steps_that_differ_and_gaps_are_said_and_shown() -> None:
    uneven = scan_of(still(4, -105.0, {2: -50.0}), START_HZ + np.array([0, 10_000, 25_000, 31_000]))
    assert "steps differ" in uneven.words
    assert max(level for level in uneven.maximum_dbm if level is not None) == -50.0
    gap = scan_of(still(4, -105.0, {}), START_HZ + 25_000 * np.array([0, 1, 4, 5]))
    assert gap.maximum_dbm == (-105.0, -105.0, None, None, -105.0, -105.0)
    assert (gap.median_dbm[2], gap.occupancy[2], gap.step_hz) == (None, None, 25_000)


def test_rounded_steps_are_one_step() -> None:
    """A third of 100 kHz, written in kHz: 33 and 34 kHz in turn."""
    thirds = 470_000_000 + 1_000 * np.array([0, 33, 67, 100, 133, 167, 200])
    scan = scan_of(still(7, -105.0, {}), thirds)
    assert scan.step_hz == 33_334
    assert None not in scan.maximum_dbm


def test_a_scan_that_is_too_long_keeps_its_peaks() -> None:
    points = 50_001
    scan = scan_of(still(points, -105.0, {12_345: -33.0}), frequencies(points, 1_000))
    assert len(scan.maximum_dbm) <= POINTS_MAXIMUM
    assert "too many" in scan.words
    assert scan.step_hz == 2_501, "50 MHz in 19,999 steps"
    peak = scan.maximum_dbm.index(-33.0)
    assert abs(scan.start_hz + peak * scan.step_hz - (START_HZ + 12_345_000)) <= 1_251


def test_the_longest_scan_fits_into_a_document() -> None:
    levels = np.round(np.random.default_rng(9).uniform(-199.0, -101.0, (3, POINTS_MAXIMUM)), 2)
    scan = scan_of(levels, frequencies(POINTS_MAXIMUM, 10_000))
    assert len(scan.maximum_dbm) == POINTS_MAXIMUM
    assert len(json.dumps(scan_as_object(scan))) < BODY_BYTES_MAXIMUM


def act(command_id: str, *stretches: LevelStretch, left_out: int = 0) -> ScanLevels:
    return ScanLevels(command_id, stretches, left_out)


def test_what_devices_sent_is_a_scan_each_act_a_sweep() -> None:
    low = LevelStretch(START_HZ, 25_000, 30_000, (-105.0, None))
    high = LevelStretch(START_HZ + 50_000, 25_000, 30_000, (-60.0, -105.0))
    later = LevelStretch(START_HZ, 25_000, 30_000, (-104.0, -103.0, -50.0, -102.0))
    scan = scan_of_acts("x", [act("c1", low, high, left_out=3), act("c2", later)], ABOUT)
    assert scan.maximum_dbm == (-104.0, -103.0, -50.0, -102.0)
    assert (scan.median_dbm[0], scan.median_dbm[1], scan.median_dbm[2]) == (-104.5, -103.0, -55.0)
    assert (scan.sweeps, scan.bandwidth_hz) == (2, 30_000)
    assert "3 levels beyond the bound" in scan.words
    for nothing in (
        [act("c1")],
        [act("c1", LevelStretch(START_HZ, 25_000, 25_000, (None,)))],
        [act("c1", low), act("c2")],
    ):
        with pytest.raises(InvalidRequest, match="no levels"):
            scan_of_acts("x", nothing, ABOUT)


def test_what_stretches_say_of_themselves_is_kept() -> None:
    a, b = (
        LevelStretch(START_HZ, 25_000, 25_000, (level,), f"quay-1/carrier/1/branch/{name}", calibrated=name == "a")
        for name, level in (("a", -60.0), ("b", -90.0))
    )
    one, both = scan_of_acts("x", [act("c1", a)], ABOUT), scan_of_acts("x", [act("c1", b, a)], ABOUT)
    assert (one.instrument, one.calibrated, one.words) == ("quay-1/carrier/1/branch/a", True, "")
    assert (both.instrument, both.calibrated, both.maximum_dbm, both.sweeps) == ("wand", False, (-60.0,), 1)
    assert "branch/a and quay-1/carrier/1/branch/b" in both.words


def test_a_scan_is_kept_as_json_and_read_strictly() -> None:
    gap = START_HZ + 25_000 * np.array([0, 1, 4])
    scan = scan_of(still(3, -105.0, {1: -60.0}), gap, Circumstances("Quay", 5, simulated=True), 25_000)
    body = json.loads(json.dumps(scan_as_object(scan)))
    assert scan_of_object("evening", body) == scan
    assert set(body) == {
        "place", "taken_at_utc_us", "instrument", "source", "file", "simulated", "calibrated", "bandwidth_hz", "sweeps",
        "words", "start_hz", "step_hz", "maximum_dbm", "median_dbm", "occupancy",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"colour": "red"}, "document"),
        ({"step_hz": 0}, "step_hz"),
        ({"place": ""}, "place"),
        ({"source": "air"}, "source"),
        ({"maximum_dbm": [-105.0, 900.0]}, "maximum_dbm[1]"),
        ({"maximum_dbm": ["-105"]}, "maximum_dbm[0]"),
        ({"median_dbm": [-105.0]}, "median_dbm"),
        ({"occupancy": [0.0, 2.0, 0.0]}, "occupancy[1]"),
        ({"occupancy": [0.0, None, 0.0]}, "occupancy[1]"),
        ({"maximum_dbm": [-105.0] * (POINTS_MAXIMUM + 1)}, "maximum_dbm"),
    ],
)
def test_a_body_that_cannot_be_is_refused(change: dict[str, object], key: str) -> None:
    body = scan_as_object(scan_of(still(3, -105.0, {}), frequencies(3)))
    with pytest.raises(InvalidDocument) as caught:
        scan_of_object("evening", {**body, **change})
    assert caught.value.key == key
