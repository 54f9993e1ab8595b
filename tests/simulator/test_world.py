from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleet.protocol import messages
from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario, two_channels, watch

CARRIER = "rack-1/carrier/1"
CHANNEL = "rack-1/channel/1"


def _desk(walk: str = "Round", *, talk: float = 0.0, analog: bool = False, seed: int = 7) -> Desk:
    stage = scenario(receiver_text("rack-1", channel_text("p1", walk=walk, talk=talk), analog=analog))
    return Desk(fleet_of(stage, seed), "rack-1").enter()


def _one(walk: str = "Round") -> VirtualFleet:
    return fleet_of(scenario(receiver_text("rack-1", channel_text("p1", walk=walk))))


def _numbers(desk: Desk, address: str, reading: str) -> list[float]:
    return [value for value in desk.series(address, reading) if value is not None]


def test_baseline_of_tern_rock() -> None:
    """Common practice: branches about -55 dBm, floor -105, links intact, peaks about -15 dBFS."""
    shown = watch(fleet_of(load("tern-rock"), 1), 60.0)
    better = np.median(shown["rf_dbm"].max(axis=2), axis=0)
    assert better.shape == (24,)
    assert np.all((better > -65.0) & (better < -40.0))
    assert np.median(better) == pytest.approx(-55.0, abs=5.0)
    # A pack in the prompt corner is near enough to an antenna to bring a little noise of its own.
    assert shown["floor_dbm"].mean(axis=0) == pytest.approx(np.full((24, 2), -105.0), abs=0.5)
    assert shown["damage"].max() == 0.0
    assert shown["link_quality"].min() == 1.0
    spoken = shown["peak_dbfs"][shown["peak_dbfs"] > -45.0]
    assert np.median(spoken) == pytest.approx(-15.0, abs=4.0)


def test_each_branch_measures_a_floor_of_its_own() -> None:
    floors = watch(_one(), 30.0)["floor_dbm"][:, 0]
    assert floors.shape == (300, 2)
    assert abs(stats.pearsonr(floors[:, 0], floors[:, 1]).statistic) < 0.3


def test_fading_flutters_and_the_extremes_belong_to_the_mean() -> None:
    shown = watch(_one(), 60.0)
    assert np.all((shown["rf_min_dbm"] <= shown["rf_dbm"]) & (shown["rf_dbm"] <= shown["rf_max_dbm"]))
    spread_db = shown["rf_max_dbm"].max(axis=0) - shown["rf_min_dbm"].min(axis=0)
    assert np.all((spread_db > 8.0) & (spread_db < 60.0))


def test_the_two_branches_fade_apart() -> None:
    levels = watch(_one(), 90.0)["rf_min_dbm"][:, 0]
    assert abs(stats.pearsonr(levels[:, 0], levels[:, 1]).statistic) < 0.5


def test_distance_costs_what_free_space_says() -> None:
    """ITU-R P.525 by hand: 20 log10 of the ratio of distances, about 13 m against 120 m; both branches averaged."""
    bare = [channel_text("p1", walk=walk) + "body_loss_db = 0.0\n" for walk in ("Round", "Far")]
    fleets = [fleet_of(scenario(receiver_text("rack-1", text))) for text in bare]
    powers = [10.0 ** (watch(fleet, 60.0)["rf_dbm"] / 10.0) for fleet in fleets]
    found_db = 10.0 * np.log10(powers[0].mean() / powers[1].mean())
    assert found_db == pytest.approx(20.0 * np.log10(120.5 / 13.0), abs=3.0)


def test_a_digital_link_falls_off_its_cliff() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1", walk="Far", talk=1.0)))
    fleet = fleet_of(stage)
    desk = Desk(fleet, "rack-1").enter()
    desk.advance(10.0)
    assert desk.last(CARRIER, "link_quality") == 1.0
    fleet.world.packs[0].settings["rf_power_mw"] = 1e-5
    fleet.world.touch()
    desk.advance(10.0)
    quality = _numbers(desk, CARRIER, "link_quality")[-50:]
    assert max(quality) < 0.5
    assert max(_numbers(desk, CHANNEL, "audio_damage_fraction")[-50:]) == 1.0
    assert -144.0 in _numbers(desk, CHANNEL, "peak_dbfs")[-50:]


def test_an_analog_link_is_squelched_by_level() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1", walk="Far", talk=1.0), analog=True))
    fleet = fleet_of(stage)
    desk = Desk(fleet, "rack-1").enter()
    desk.advance(5.0)
    assert desk.last(CHANNEL, "audio_state") == 0
    assert (desk.last(CHANNEL, "deviation_hz") or 0.0) > 0.0
    fleet.world.packs[0].settings["rf_power_mw"] = 1e-5
    fleet.world.touch()
    desk.advance(10.0)
    assert desk.last(CHANNEL, "audio_state") == 2
    assert desk.last(CHANNEL, "peak_dbfs") == -144.0


def test_a_speaker_speaks_and_pauses_and_a_silent_part_never_speaks() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1", talk=1.0), channel_text("p2", 521_000_000)))
    peaks = watch(fleet_of(stage), 90.0)["peak_dbfs"]
    speaking = peaks[:, 0] > -45.0
    assert 0.5 < speaking.mean() < 0.95
    assert np.median(peaks[speaking, 0]) == pytest.approx(-15.0, abs=4.0)
    assert peaks[:, 1].max() < -55.0


def test_every_part_has_its_own_pattern() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1", talk=1.0), channel_text("p2", 521_000_000, talk=1.0)))
    levels = watch(fleet_of(stage), 60.0)["rms_dbfs"]
    assert abs(stats.pearsonr(levels[:, 0], levels[:, 1]).statistic) < 0.5


def test_a_slower_subscription_merges_with_the_truth() -> None:
    fast = _desk(talk=1.0)
    stage = scenario(receiver_text("rack-1", channel_text("p1", talk=1.0)))
    slow = Desk(fleet_of(stage), "rack-1").enter(interval_ms=1000)
    for desk in (fast, slow):
        desk.advance(10.1)
    for address, reading, merge in (
        (f"{CARRIER}/branch/a", "rf_min_dbm", min),
        (f"{CARRIER}/branch/a", "rf_max_dbm", max),
        (CHANNEL, "peak_dbfs", max),
    ):
        tenths = _numbers(fast, address, reading)
        merged = [merge(tenths[first : first + 10]) for first in range(1, 101, 10)]
        assert _numbers(slow, address, reading)[1:] == merged


def test_two_packs_on_one_frequency_are_heard_as_the_stronger() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1"), channel_text("p2", 520_000_000, walk="Far")))
    desk = Desk(fleet_of(stage), "rack-1").enter()
    desk.advance(5.0)
    assert desk.exact("rack-1/channel/2", "identity") == "pack/p1"
    assert desk.last("rack-1/carrier/2", "foreign") is True
    assert desk.last("rack-1/channel/2", "audio_state") == 5  # No key.
    assert desk.last("rack-1/carrier/1", "foreign") is False


def test_time_runs_in_whole_blocks_however_it_is_asked_for() -> None:
    whole, bits = fleet_of(two_channels()).world, fleet_of(two_channels()).world
    whole.advance(3_000_000)
    for now_us in range(0, 3_000_001, 37_001):
        bits.advance(now_us)
    bits.advance(3_000_000)
    assert whole.blocks_done == bits.blocks_done == 30
    assert whole.meters(28) == bits.meters(28)


def test_only_the_last_blocks_are_kept() -> None:
    world = fleet_of(two_channels()).world
    world.advance(60_000_000)
    assert len(world.blocks) == 128
    assert len(world.meters(0).rf_dbm) == 2


def test_frames_are_what_the_layout_says() -> None:
    desk = _desk(analog=True)
    desk.advance(1.0)
    assert all(len(frame.values) == len(desk.layout) for frame in desk.all(messages.Readings))
