"""The device's clock seen from here. The true offset and drift of each case are set by the test itself."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from fleet.adapters.device_time import DeviceTime, Pulse, RoundTrip

SECOND_US = 1_000_000


@given(
    offset_us=st.integers(-(10**12), 10**12),
    delays_us=st.lists(st.tuples(st.integers(0, 500_000), st.integers(0, 500_000)), min_size=1, max_size=20),
)
def test_the_true_offset_lies_within_what_is_claimed(offset_us: int, delays_us: list[tuple[int, int]]) -> None:
    estimate = DeviceTime()
    now_us = 0
    for there_us, back_us in delays_us:
        now_us += SECOND_US
        device_us = now_us + there_us + offset_us
        estimate.add(RoundTrip(now_us, device_us, now_us + there_us + back_us))
    best = estimate.best
    assert best is not None
    assert abs(best.offset_us - offset_us) <= best.uncertainty_us(now_us + SECOND_US) + 1


def test_the_fastest_round_trip_is_kept_until_drift_has_made_it_the_worse() -> None:
    estimate = DeviceTime()
    fast, slow = RoundTrip(0, 1_000, 2_000), RoundTrip(SECOND_US, SECOND_US + 20_000, SECOND_US + 40_000)
    estimate.add(fast)
    estimate.add(slow)
    assert estimate.best == fast
    hour_us = 3_600 * SECOND_US
    later = RoundTrip(hour_us, hour_us + 20_000, hour_us + 40_000)
    estimate.add(later)
    assert estimate.best == later


@given(
    age_us=st.integers(0, 100 * SECOND_US),
    elapsed_us=st.integers(0, 36_000 * SECOND_US),
    drift=st.floats(-200e-6, 200e-6),
)
def test_a_slow_or_fast_clock_never_makes_a_live_value_older_than_it_is(
    age_us: int, elapsed_us: int, drift: float
) -> None:
    estimate = DeviceTime()
    estimate.add(RoundTrip(0, 5_000_000, 1_000))
    now_us = 1_000 + elapsed_us
    measured_us = 5_000_000 + round((now_us - age_us - 500) * (1 + drift))
    assert estimate.least_age_us(measured_us, now_us) <= age_us * (1 + 200e-6) + 2


def test_what_was_held_up_for_long_is_known_to_be_old() -> None:
    estimate = DeviceTime()
    estimate.add(RoundTrip(0, 7_000_000, 1_000))
    assert estimate.least_age_us(7_000_000, 10 * SECOND_US) > 9.9 * SECOND_US
    assert DeviceTime().least_age_us(1, 10 * SECOND_US) == 0, "nothing is known before a round trip"


def test_a_heartbeat_is_fresh_when_time_and_counter_both_move_on() -> None:
    pulse = Pulse()
    beats = [(100, 1), (200, 2), (300, 2), (300, 3), (400, 4), (350, 5), (500, 6)]
    assert [pulse.beat(*beat) for beat in beats] == [False, True, False, False, True, False, True]
