"""The shipped rules about branches, sound, keys and clocks. Limits, delays and windows are common practice."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.model.fields import AUDIO_STATES
from tests.small_fleet import Hand

DEAF = "deaf-branch:quay-1/carrier/1/branch/b"
DAMAGED = "audio-damage:quay-1/channel/1"
OVERLOADED = "pack-overload:pack/quay-1-1"
KEYLESS = "wrong-key:quay-1/channel/1"
SLIPS = "clock-slips:quay-1"
UNLOCKED = "clock-unlocked:quay-1"
A, B = "quay-1/carrier/1/branch/a", "quay-1/carrier/1/branch/b"
MISSING = float("nan")


def ready() -> Hand:
    hand = Hand()
    hand.produce("quay-1", spares=["quay-1/channel/2"])
    hand.connect("quay-1")
    hand.run(12.0, ["quay-1"])
    return hand


def branches(a: tuple[float, float], b: tuple[float, float]) -> dict[tuple[str, str], float]:
    """The level and the floor of each branch of the first carrier, in dBm."""
    return {(A, "rf_dbm"): a[0], (A, "floor_dbm"): a[1], (B, "rf_dbm"): b[0], (B, "floor_dbm"): b[1]}


def only_quiet(hand: Hand) -> None:
    assert hand.pipeline.alarms() == ()


# ------------------------------------------------------------ a branch that hears too little


@pytest.mark.parametrize("b", [(-115.0, -115.0), (-85.0, -115.0)], ids=["feed open", "booster without power"])
def test_a_deaf_branch_must_fire(b: tuple[float, float]) -> None:
    hand = ready()
    hand.run(4.0, ["quay-1"], branches((-55.0, -105.0), b))
    assert hand.alarm_states(DEAF) == []
    hand.run(26.0, ["quay-1"], branches((-55.0, -105.0), b))
    assert hand.alarm_states(DEAF) == ["unacknowledged"]
    (alarm,) = hand.pipeline.alarms()
    assert alarm.evidence["deafness_db"] > 15.0
    assert alarm.evidence["floor_dbm"] == -115.0
    hand.run(40.0, ["quay-1"])
    assert hand.alarm_states(DEAF)[1:] == ["returned unacknowledged"]


def test_a_deaf_branch_must_not_fire_for_an_antenna_that_is_further_away() -> None:
    hand = ready()
    hand.run(60.0, ["quay-1"], branches((-50.0, -105.0), (-75.0, -105.0)))
    only_quiet(hand)


def test_a_deaf_branch_must_not_fire_for_a_body_in_the_way_for_seconds() -> None:
    hand = ready()
    for _ in range(6):
        hand.run(3.0, ["quay-1"], branches((-55.0, -105.0), (-100.0, -105.0)))
        hand.run(8.0, ["quay-1"])
    only_quiet(hand)


def test_a_deaf_branch_must_not_fire_for_fading_on_both() -> None:
    hand = ready()
    luck = np.random.default_rng(3)
    for _ in range(600):
        a, b = -55.0 + 8.0 * luck.standard_normal(2)
        hand.run(0.1, ["quay-1"], branches((float(a), -105.0), (float(b), -105.0)))
    only_quiet(hand)


def test_a_deaf_branch_must_not_fire_where_nothing_is_on_the_air() -> None:
    hand = ready()
    hand.run(60.0, ["quay-1"], {**branches((-105.0, -105.0), (-106.0, -105.0)), ("pack/quay-1-1", "asleep"): 1.0})
    only_quiet(hand)


def test_a_branch_without_readings_is_not_called_deaf() -> None:
    hand = ready()
    hand.run(60.0, ["quay-1"], branches((-55.0, -105.0), (MISSING, -105.0)))
    only_quiet(hand)


# ------------------------------------------------------------ damage


def test_audio_damage_must_fire_for_lasting_and_for_repeated_damage() -> None:
    hand = ready()
    hand.run(1.0, ["quay-1"], {"audio_damage_fraction": 0.6})
    assert hand.alarm_states(DAMAGED) == ["unacknowledged"]
    other = ready()
    for _ in range(10):
        other.run(0.2, ["quay-1"], {"audio_damage_fraction": 0.5})
        other.run(1.3, ["quay-1"])
    assert other.alarm_states(DAMAGED)[0] == "unacknowledged"
    assert hand.pipeline.alarms()[0].evidence["damaged_fraction"] > 0.03


def test_audio_damage_must_not_fire_for_a_deep_fade_without_it_or_for_one_lost_frame() -> None:
    hand = ready()
    hand.run(0.5, ["quay-1"], {"rf_dbm": -98.0})
    hand.run(0.1, ["quay-1"], {"audio_damage_fraction": 0.5})
    hand.run(60.0, ["quay-1"])
    only_quiet(hand)


def test_audio_damage_ends_once_the_sound_is_whole_and_not_by_silence_of_the_device() -> None:
    hand = ready()
    hand.run(2.0, ["quay-1"], {"audio_damage_fraction": 1.0})
    hand.run(60.0, ["quay-1"], {"audio_damage_fraction": MISSING})
    assert hand.alarm_states(DAMAGED) == ["unacknowledged"]
    hand.run(60.0, ["quay-1"])
    assert hand.alarm_states(DAMAGED)[-1] == "returned unacknowledged"


# ------------------------------------------------------------ overload, keys


def test_pack_overload_must_fire_for_a_hot_pack_and_not_for_one_shout() -> None:
    hand = ready()
    hand.run(0.3, ["quay-1"], {"input_overload": 1.0})
    hand.run(20.0, ["quay-1"])
    only_quiet(hand)
    for _ in range(10):
        hand.run(0.2, ["quay-1"], {"input_overload": 1.0})
        hand.run(0.3, ["quay-1"])
    assert hand.alarm_states(OVERLOADED) == ["unacknowledged"]
    assert hand.pipeline.alarms()[0].evidence["peak_dbfs"] == -15.0


def test_wrong_key_must_fire_and_other_silences_must_not() -> None:
    hand = ready()
    for state in ("muted", "squelched_by_level", "squelched_by_identity", "no_link"):
        hand.run(10.0, ["quay-1"], {"audio_state": float(AUDIO_STATES.index(state))})
    only_quiet(hand)
    hand.run(1.9, ["quay-1"], {"audio_state": float(AUDIO_STATES.index("no_key"))})
    only_quiet(hand)
    hand.run(0.3, ["quay-1"], {"audio_state": float(AUDIO_STATES.index("no_key"))})
    assert hand.alarm_states(KEYLESS) == ["unacknowledged"]


# ------------------------------------------------------------ clocks


def slipping(hand: Hand, seconds: int, every_s: int) -> None:
    for second in range(seconds):
        hand.run(1.0, ["quay-1"], {"slip_count": float(second // every_s), "clock_error_ppm": 10.0})


@pytest.mark.parametrize(("every_s", "within_s"), [(2, 20), (20, 80)], ids=["ten ppm", "one ppm"])
def test_two_clock_leaders_must_fire(every_s: int, within_s: int) -> None:
    hand = ready()
    hand.run(60.0, ["quay-1"])
    slipping(hand, within_s, every_s)
    assert hand.alarm_states(SLIPS) == ["unacknowledged"]
    evidence = hand.pipeline.alarms()[0].evidence
    assert evidence["clock_error_ppm"] == 10.0
    assert evidence["slips_per_min"] > 2.0


def test_clock_must_not_fire_for_one_slip() -> None:
    hand = ready()
    hand.run(50.0, ["quay-1"])
    hand.run(30.0, ["quay-1"], {"slip_count": 1.0})
    assert hand.alarm_states(SLIPS) == []


def test_an_unlocked_clock_must_fire_and_a_blink_must_not() -> None:
    hand = ready()
    hand.run(1.0, ["quay-1"], {"clock_locked": 0.0})
    hand.run(10.0, ["quay-1"])
    only_quiet(hand)
    hand.run(2.2, ["quay-1"], {"clock_locked": 0.0})
    assert hand.alarm_states(UNLOCKED) == ["unacknowledged"]
