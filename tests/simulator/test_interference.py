"""Products and neighbours: their frequencies by hand, their levels by common practice and by published arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.interference import (
    MIXING_DISTANCE_M,
    STRONGEST,
    TURNAROUND_DB,
    Interference,
    front_end_products,
)
from simulator.ways import audible
from tests.simulator.still import still

ONE_ANTENNA = np.array([[0, 1]])


def test_two_strong_carriers_make_two_products() -> None:
    """600.0 and 600.4 MHz make 599.6 and 600.8. Common practice: two at -25 dBm, intercept -7.5, make -60."""
    made = front_end_products(np.array([600_000_000, 600_400_000]), np.array([-25.0, -25.0]))
    assert sorted(made.frequency_hz.tolist()) == [599_600_000, 600_800_000]
    assert made.level_dbm == pytest.approx([-60.0, -60.0])


def test_three_make_three_more_that_are_six_decibels_stronger() -> None:
    """600.0, 600.4, 601.0: A+B-C at 599.4, 600.6, 601.4; a triple beat is 20 log10 2 stronger (Hausman)."""
    made = front_end_products(np.array([600_000_000, 600_400_000, 601_000_000]), np.full(3, -30.0))
    triple = made.frequency_hz[6:]
    assert sorted(triple.tolist()) == [599_400_000, 600_600_000, 601_400_000]
    assert made.level_dbm[6:] - made.level_dbm[0] == pytest.approx(np.full(3, 6.0206), abs=1e-4)


def test_weak_carriers_make_none_and_of_several_on_one_frequency_one_counts() -> None:
    hz = np.array([600_000_000, 600_400_000, 600_000_000])
    assert not len(front_end_products(hz[:2], np.array([-25.0, -51.0])).frequency_hz)
    made = front_end_products(hz, np.array([-30.0, -25.0, -25.0]))
    assert made.level_dbm == pytest.approx([-60.0, -60.0])


def test_no_more_than_the_strongest_are_looked_at() -> None:
    made = front_end_products(np.arange(40) * 1_000_000 + 500_000_000, np.linspace(-20.0, -30.0, 40))
    assert len(made.frequency_hz) == STRONGEST * (STRONGEST - 1) * (1 + (STRONGEST - 2) // 2)


def test_a_neighbour_beside_the_channel_gets_through_the_filters() -> None:
    """The stated assumption: 35 dB of selectivity 200 kHz beside; what is beyond 1 MHz leaves nothing."""
    interference = Interference(1, 3)
    on = np.array([True, True, True])
    interference.tune(np.array([600_000_000]), np.array([600_000_000, 600_200_000, 602_000_000]), on)
    levels_mw = np.array([[1.0, 1e-3, 1.0], [1.0, 1e-4, 1.0]])
    found_db = 10.0 * np.log10(interference.adjacent_mw(levels_mw, ONE_ANTENNA))
    assert found_db == pytest.approx(np.array([[-65.0, -75.0]]))


@pytest.mark.parametrize(("apart_m", "heard"), [(1.0, True), (MIXING_DISTANCE_M + 0.1, False)])
def test_packs_close_together_send_a_product(apart_m: float, heard: bool) -> None:
    """Free space takes 28.011 dB over 1 m at 600 MHz (ITU-R P.525); the rest is the stated turnaround."""
    emission = still([[0.0, 0.0, 1.3], [apart_m, 0.0, 1.3]], [600_400_000, 600_000_000], eirp_dbm=10.0)
    interference = Interference(1, 2)
    interference.tune(np.array([600_800_000]), emission.sent.frequency_hz, emission.sent.on)
    levels_dbm = np.array([[-40.0, -90.0], [-50.0, -90.0]])
    found = interference.mixed_mw(levels_dbm, emission, ONE_ANTENNA)
    if not heard:
        assert not found.any()
        return
    sent_dbm = 10.0 - 28.011 - TURNAROUND_DB
    assert 10.0 * np.log10(found) == pytest.approx(np.array([[sent_dbm - 50.0, sent_dbm - 60.0]]), abs=0.01)


def test_of_several_on_one_carrier_only_those_that_matter_are_heard() -> None:
    """The stated 40 dB: the second is 30 below the first, the third 50; alone on its carrier the third counts."""
    near = np.array([[True, True, True], [False, False, True]])
    levels_dbm = np.array([[-40.0, -70.0, -90.0], [-60.0, -90.0, -95.0]])
    found = audible(near, levels_dbm, np.array([[0, 1], [0, 1]]))
    assert found.tolist() == [[True, True, False], [False, False, True]]
    assert near.all(axis=1).tolist() == [True, False]  # What was given stays as it was.


def test_a_pack_that_is_off_mixes_nothing() -> None:
    emission = still([[0.0, 0.0, 1.3], [1.0, 0.0, 1.3]], [600_400_000, 600_000_000], on=[True, False])
    interference = Interference(1, 2)
    interference.tune(np.array([600_800_000]), emission.sent.frequency_hz, emission.sent.on)
    assert not interference.mixed_mw(np.full((2, 2), -40.0), emission, ONE_ANTENNA).any()
