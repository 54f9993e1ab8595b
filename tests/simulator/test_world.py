from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleet.protocol import messages
from simulator.scenario_checks import load
from tests.simulator.desk import Desk
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario, two_channels

CARRIER = "rack-1/carrier/1"
CHANNEL = "rack-1/channel/1"


def _desk(walk: str = "Round", *, talk: float = 0.0, analog: bool = False, seed: int = 7) -> Desk:
    stage = scenario(receiver_text("rack-1", channel_text("p1", walk=walk, talk=talk), analog=analog))
    return Desk(fleet_of(stage, seed), "rack-1").enter()


def _numbers(desk: Desk, address: str, reading: str) -> list[float]:
    return [value for value in desk.series(address, reading) if value is not None]


def test_baseline_of_tern_rock() -> None:
    """Common practice: branches about -55 dBm, floor -105, links intact, peaks about -15 dBFS."""
    fleet = fleet_of(load("tern-rock"), 1)
    desks = [Desk(fleet, device_id).enter() for device_id in fleet.receivers]
    for _ in range(600):
        for desk in desks:
            desk.advance(0.1)
    for desk in desks:
        for number in (1, 2):
            carrier = f"{desk.device_id}/carrier/{number}"
            better = np.maximum(
                _numbers(desk, f"{carrier}/branch/a", "rf_dbm"), _numbers(desk, f"{carrier}/branch/b", "rf_dbm")
            )
            assert -65.0 < np.median(better) < -40.0
            assert np.mean(_numbers(desk, carrier, "floor_dbm")) == pytest.approx(-105.0, abs=0.2)
            assert max(_numbers(desk, f"{desk.device_id}/channel/{number}", "audio_damage_fraction")) == 0.0


def test_fading_flutters_and_the_extremes_belong_to_the_mean() -> None:
    desk = _desk()
    desk.advance(60.0)
    for branch in ("a", "b"):
        address = f"{CARRIER}/branch/{branch}"
        mean, least, most = (_numbers(desk, address, f"rf{part}_dbm") for part in ("", "_min", "_max"))
        assert all(low <= middle <= high for low, middle, high in zip(least, mean, most, strict=True))
        assert 8.0 < max(most) - min(least) < 45.0


def test_the_two_branches_fade_apart() -> None:
    desk = _desk()
    desk.advance(120.0)
    levels = [_numbers(desk, f"{CARRIER}/branch/{branch}", "rf_min_dbm") for branch in "ab"]
    assert abs(stats.pearsonr(*levels).statistic) < 0.5


def test_distance_costs_what_free_space_says() -> None:
    """ITU-R P.525 by hand: 20 log10 of the ratio of distances, about 10 m against 120 m; both branches averaged."""
    near, far = _desk("Round"), _desk("Far")
    for desk in (near, far):
        desk.advance(120.0)
    found = [
        10.0
        * np.log10(
            np.mean(
                [10.0 ** (level / 10.0) for b in "ab" for level in _numbers(desk, f"{CARRIER}/branch/{b}", "rf_dbm")]
            )
        )
        for desk in (near, far)
    ]
    assert found[0] - found[1] == pytest.approx(20.0 * np.log10(120.5 / 13.0), abs=3.0)


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
    desk = Desk(fleet_of(stage), "rack-1").enter()
    desk.advance(120.0)
    speaking = np.array(_numbers(desk, CHANNEL, "peak_dbfs"))
    share = np.mean(speaking > -45.0)
    assert 0.5 < share < 0.95
    assert np.median(speaking[speaking > -45.0]) == pytest.approx(-15.0, abs=4.0)
    assert max(_numbers(desk, "rack-1/channel/2", "peak_dbfs")) < -55.0


def test_every_part_has_its_own_pattern() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1", talk=1.0), channel_text("p2", 521_000_000, talk=1.0)))
    desk = Desk(fleet_of(stage), "rack-1").enter()
    desk.advance(60.0)
    patterns = [_numbers(desk, f"rack-1/channel/{number}", "rms_dbfs") for number in (1, 2)]
    assert abs(stats.pearsonr(*patterns).statistic) < 0.5


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
