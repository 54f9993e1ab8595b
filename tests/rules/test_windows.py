"""Windows over the last seconds, fed by hand. The smoothed value is checked against scipy's recursive filter."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter

from fleet.model.address import Place
from fleet.model.quality import Quality
from fleet.readings import Cells, LiveTable, Written
from fleet.rules.windows import Rate, Smoothed

SECOND_US = 1_000_000


class Counter:
    """One row of one reading, put in by hand, with a window over it."""

    def __init__(self, window: Smoothed | Rate, name: str) -> None:
        self.window = window
        self.table = LiveTable(window.place)
        self.table.append("row")
        self.column = np.array([self.table.column_of[name]])

    def put(self, at_us: int, value: float, quality: Quality = Quality.GOOD) -> None:
        written = Written(
            np.array([value]), np.array([quality], dtype=np.uint8), np.array([at_us]), np.array([SECOND_US])
        )
        self.table.write(Cells(self.column, np.array([0])), written)
        self.window.feed(self.table)


def slips() -> Counter:
    return Counter(Rate(Place.DEVICE, "slip_count", 60 * SECOND_US), "slip_count")


def rate(counter: Counter) -> float:
    assert isinstance(counter.window, Rate)
    return float(counter.window.per_minute[0])


def mean(counter: Counter) -> float:
    assert isinstance(counter.window, Smoothed)
    return float(counter.window.values[0])


def test_a_rate_is_known_after_a_whole_window_and_then_follows() -> None:
    counter = slips()
    for second in range(60):
        counter.put(second * SECOND_US, second // 2)
        assert np.isnan(rate(counter))
    for second in range(60, 70):
        counter.put(second * SECOND_US, second // 2)
    assert rate(counter) == pytest.approx(30.0, abs=1.0)
    for second in range(70, 140):
        counter.put(second * SECOND_US, 35.0)
    assert rate(counter) == 0.0


@pytest.mark.parametrize(("at_s", "count"), [(90, 2000.0), (63, 0.0)], ids=["after a gap", "counter fell"])
def test_a_counter_that_began_anew_has_no_rate_until_a_window_later(at_s: int, count: float) -> None:
    counter = slips()
    for second in range(63):
        counter.put(second * SECOND_US, 7.0)
    assert rate(counter) == 0.0
    for second in range(at_s, at_s + 60):
        counter.put((second + 3) * SECOND_US, count)
        assert np.isnan(rate(counter))
    counter.put((at_s + 70) * SECOND_US, count)
    assert np.isnan(rate(counter)) or rate(counter) == 0.0


def test_a_smoothed_level_is_that_of_a_recursive_filter() -> None:
    counter = Counter(Smoothed(Place.BRANCH, "rf_dbm", 10 * SECOND_US), "rf_dbm")
    levels = -60.0 + 8.0 * np.random.default_rng(5).standard_normal(400)
    for index, level in enumerate(levels):
        counter.put(index * SECOND_US // 10, float(level))
    share = 1.0 - np.exp(-0.1 / 10.0)
    expected, _ = lfilter([share], [1.0, share - 1.0], levels, zi=[(1.0 - share) * levels[0]])
    assert mean(counter) == pytest.approx(expected[-1], abs=1e-9)


def test_a_window_says_nothing_before_it_is_full_or_after_a_gap_and_passes_over_what_is_not_good() -> None:
    counter = Counter(Smoothed(Place.BRANCH, "rf_dbm", 10 * SECOND_US), "rf_dbm")
    for second in range(10):
        counter.put(second * SECOND_US, -50.0)
        assert np.isnan(mean(counter))
    counter.put(10 * SECOND_US, -50.0)
    counter.put(11 * SECOND_US, 30.0, Quality.BAD)
    counter.put(12 * SECOND_US, np.nan, Quality.ABSENT)
    assert mean(counter) == -50.0
    counter.put(18 * SECOND_US, -90.0)
    assert np.isnan(mean(counter))
