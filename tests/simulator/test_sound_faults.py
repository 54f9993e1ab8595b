"""What goes wrong with sound: sweat, wind, slipping clocks, noise behind a compander."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.clicks import Clicks
from simulator.microphones import Wet
from simulator.rows import rows_of
from simulator.scenario import decode
from simulator.scenario_checks import checked
from simulator.sound import CLICK_DBFS
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.small_stage import STAGE, channel_text, fleet_of, receiver_text, scenario, two_channels, watch


def _speaker(analog: bool = False) -> VirtualFleet:
    return fleet_of(scenario(receiver_text("rack-1", channel_text("p1", talk=1.0), analog=analog)))


def test_sweat_takes_the_level_down_bit_by_bit_and_a_dry_capsule_has_it_again() -> None:
    """Common practice (situation 11): 12 dB in the end, here within a minute; the radio stays as it was."""
    plain, wet = _speaker(), _speaker()
    wet.world.microphones.wet(0, Wet(12.0, 0, 600))
    levels = [watch(fleet, 90.0) for fleet in (plain, wet)]
    speaking = levels[0]["rms_dbfs"][:, 0] > -35.0
    lost_db = (levels[0]["rms_dbfs"] - levels[1]["rms_dbfs"])[:, 0]
    half, whole = (speaking & (np.abs(np.arange(900) - at) < 40) for at in (300, 750))
    assert np.median(lost_db[half]) == pytest.approx(6.0, abs=1.0)
    assert np.median(lost_db[whole]) == pytest.approx(12.0, abs=0.5)
    assert np.array_equal(levels[0]["rf_dbm"], levels[1]["rf_dbm"])
    wet.world.microphones.wet(0, None)
    assert np.array_equal(watch(plain, 10.0)["rms_dbfs"], watch(wet, 10.0)["rms_dbfs"])


def test_wind_comes_in_gusts_and_a_low_cut_takes_most_of_it() -> None:
    """By hand: 12 dB an octave at 120 Hz takes 12.3 dB at 60 Hz."""
    text = STAGE.replace('name = "Stage"', 'name = "Stage"\nwind_dbfs = -40.0\nrumble_dbfs = -120.0')
    stages = [
        text + receiver_text("rack-1", channel_text("p1") + f"low_cut_hz = {low_cut_hz}\n") for low_cut_hz in (0, 120)
    ]
    open_db, cut_db = (
        watch(fleet_of(checked("wind.toml", decode("wind.toml", each))), 30.0)["rms_dbfs"][:, 0] for each in stages
    )
    assert np.median(open_db - cut_db) == pytest.approx(12.3, abs=0.3)
    assert np.std(open_db) > 2.0


def test_a_slipping_clock_clicks_as_often_as_it_slips() -> None:
    """10 ppm of 48 kHz is a slip every 2.08 s: in 26 s, twelve."""
    fleet = fleet_of(two_channels())
    fleet.device("rack-1").vitals.follow(10.0, 0)
    peaks = []
    for block in range(1, 261):
        fleet.advance(block * 100_000)
        peaks.append(fleet.world.meters(block - 2).peak_dbfs[0])
    clicking = np.array(peaks) >= CLICK_DBFS
    assert np.count_nonzero(clicking) == 12
    assert np.ptp(np.diff(np.flatnonzero(clicking))) <= 1
    fleet.device("rack-1").vitals.follow(0.0, 26_000_000)
    fleet.advance(26_100_000)
    fleet.advance(40_000_000)
    assert fleet.world.meters(380).peak_dbfs[0] < CLICK_DBFS


def test_clocks_that_keep_time_make_no_clicks() -> None:
    clicks = Clicks(2, 0.1)
    clicks.set(rows_of(two_channels())[:1], 5.0)
    found = np.array([clicks.take() for _ in range(100)])
    assert found.sum(axis=0).tolist() == [50, 0]
