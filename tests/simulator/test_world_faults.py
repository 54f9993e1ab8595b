"""Faults of the world: what the receivers then read, and that all is as before once they are taken back."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from fleet.model.fields import AUDIO_STATES
from fleet.protocol import messages
from simulator.exercise import ExerciseServer
from simulator.feeds import BOOSTER_LEAKS_DB, DISTRIBUTION_LEAKS_DB, SHORT_MA
from simulator.front_end import COMPRESSION_POINT_DBM, OWN_NOISE_DBM
from simulator.scenario import decode
from simulator.scenario_checks import checked
from tests.simulator.desk import Desk
from tests.simulator.small_stage import STAGE, channel_text, fleet_of, receiver_text

DISTRIBUTION = """
[[distribution]]
id = "split-1"
form = "distribution"
rack = "Rack"
inputs = { a = "Left", b = "Right" }
"""
CARRIER, BRANCH_A, BRANCH_B = "rack-1/carrier/1", "rack-1/carrier/1/branch/a", "rack-1/carrier/1/branch/b"
CHANNEL, PACK = "rack-1/channel/1", "pack/p1"


@dataclass
class Stage:
    """A receiver and, where there is one, the distribution before it, watched while faults come and go."""

    desk: Desk
    split: Desk | None

    def throw(self, method: str, **params: object) -> dict[str, Any]:
        """Throw a fault."""
        server = ExerciseServer(self.desk.fleet, lambda: self.desk.now_us, "token")
        answer = json.loads(server.answer(json.dumps({"jsonrpc": "2.0", "id": 1, "method": method, "params": params})))
        assert "result" in answer, answer
        found: dict[str, Any] = answer["result"]
        return found

    def mean(self, address: str, reading: str, seconds: float = 4.0) -> float:
        """The mean of a reading from now on."""
        self.desk.advance(seconds)
        return float(np.mean(np.array(self.desk.series(address, reading)[-round(seconds * 10) :], dtype=float)))

    def input(self, label: str, reading: str) -> float | None:
        """A reading of the distribution as it is now."""
        assert self.split is not None
        self.split.now_us = self.desk.now_us
        self.split.advance(0.1)
        self.desk.now_us = self.split.now_us
        return self.split.last(f"split-1/input/{label}" if label else "split-1", reading)


def _stage(*, distribution: bool = False, booster: bool = True, talk: float = 0.0) -> Stage:
    text = STAGE.replace("position_m = [5.0, 0.0, 3.0]\n", "position_m = [5.0, 0.0, 3.0]\ndraws_ma = 35.0\n" * booster)
    receiver = receiver_text("rack-1", channel_text("p1", talk=talk), channel_text("p2", 521_000_000))
    receiver = receiver.replace('form = "receiver"\n', 'form = "receiver"\nrack = "Rack"\n')
    if not distribution:
        receiver = receiver.replace('form = "receiver"\n', 'form = "receiver"\nfeeds = ["a", "b"]\n')
    text += receiver + (DISTRIBUTION if distribution else "")
    fleet = fleet_of(checked("stage.toml", decode("stage.toml", text)))
    split = Desk(fleet, "split-1").enter() if distribution else None
    desk = Desk(fleet, "rack-1").enter()
    desk.advance(1.0)
    return Stage(desk, split)


def test_an_open_feed_leaves_the_receivers_own_noise_on_one_branch_without_a_flutter() -> None:
    """Common practice (situation 1): level and floor at -115 dBm, no flutter, no current; the other branch as ever."""
    stage = _stage()
    before = stage.mean(BRANCH_A, "rf_dbm")
    stage.throw("break_feed", antenna="Right", fault="open")
    stage.desk.advance(4.0)
    levels = np.array(stage.desk.series(BRANCH_B, "rf_dbm")[-40:], dtype=float)
    assert np.mean(levels) == pytest.approx(OWN_NOISE_DBM, abs=0.2)
    assert np.std(levels) < 0.5
    assert stage.desk.last(BRANCH_B, "floor_dbm") == pytest.approx(OWN_NOISE_DBM, abs=1.0)
    assert (stage.desk.last(BRANCH_B, "feed_ma"), stage.desk.last(BRANCH_B, "feed_fault")) == (0.0, True)
    assert stage.desk.last("rack-1/carrier/2/branch/b", "rf_dbm") == pytest.approx(OWN_NOISE_DBM, abs=1.0)
    assert stage.mean(BRANCH_A, "rf_dbm") == pytest.approx(before, abs=10.0)  # It walks on.
    stage.throw("mend_feed", antenna="Right")
    assert stage.mean(BRANCH_B, "rf_dbm") > -80.0
    assert (stage.desk.last(BRANCH_B, "feed_ma"), stage.desk.last(BRANCH_B, "feed_fault")) == (35.0, False)


def test_a_shorted_feed_draws_what_its_supply_allows() -> None:
    stage = _stage()
    stage.throw("break_feed", antenna="Right", fault="shorted")
    stage.desk.advance(0.2)
    assert (stage.desk.last(BRANCH_B, "feed_ma"), stage.desk.last(BRANCH_B, "feed_fault")) == (SHORT_MA, True)
    assert stage.desk.last(BRANCH_B, "rf_dbm") == pytest.approx(OWN_NOISE_DBM, abs=1.0)


def _twin(throw: Callable[[Stage], object], **kind: bool) -> tuple[Stage, Stage]:
    """Two stages of the same seed, a fault apart, some seconds on."""
    plain, faulty = _stage(**kind), _stage(**kind)
    throw(faulty)
    for stage in (plain, faulty):
        stage.desk.advance(5.0)
    return plain, faulty


def _apart(pair: tuple[Stage, Stage], address: str, reading: str) -> float:
    plain, faulty = (stage.desk.series(address, reading)[-40:] for stage in pair)
    return float(np.mean(np.array(faulty, dtype=float) - np.array(plain, dtype=float)))


def test_a_booster_without_power_leaks_and_still_flutters() -> None:
    pair = _twin(lambda stage: stage.throw("break_feed", antenna="Right", fault="unpowered"))
    assert _apart(pair, BRANCH_B, "rf_dbm") == pytest.approx(BOOSTER_LEAKS_DB, abs=0.2)
    assert _apart(pair, BRANCH_A, "rf_dbm") == 0.0
    assert np.std(np.array(pair[1].desk.series(BRANCH_B, "rf_dbm")[-40:], dtype=float)) > 0.5


def test_a_distribution_without_power_takes_all_branches_down_at_once_and_says_so() -> None:
    """Common practice (situation 9): -25 dB on everything, the floors fall too, the flutter stays."""
    pair = _twin(lambda stage: stage.throw("cut_supply", device_id="split-1"), distribution=True)
    for branch in (BRANCH_A, BRANCH_B, "rack-1/carrier/2/branch/a"):
        assert _apart(pair, branch, "rf_dbm") == pytest.approx(DISTRIBUTION_LEAKS_DB, abs=0.3)
        assert _apart(pair, branch, "floor_dbm") < -8.0
    assert pair[1].input("", "supply_ok") is False
    pair[1].throw("restore_supply", device_id="split-1")
    assert pair[1].input("", "supply_ok") is True


def test_the_feeds_of_a_distribution_are_measured_there() -> None:
    stage = _stage(distribution=True)
    assert (BRANCH_B, "feed_ma") not in stage.desk.layout
    assert (stage.input("a", "feed_ma"), stage.input("b", "feed_ma")) == (0.0, 35.0)
    stage.throw("break_feed", antenna="Right", fault="open")
    assert (stage.input("b", "feed_ma"), stage.input("b", "feed_fault")) == (0.0, True)


def test_a_pack_at_an_antenna_overloads_every_carrier_of_it() -> None:
    """50 mW ERP is 19.14 dBm EIRP (Radio Regulations); free space takes 20.75 dB over 0.5 m at 520 MHz (P.525)."""
    stage = _stage()
    floor = stage.mean("rack-1/carrier/2/branch/a", "floor_dbm")
    assert isinstance(stage.desk.write("pack/p1", "c1", rf_power_mw=50.0), messages.WriteResult)
    stage.throw("carry_pack", pack="pack/p1", antenna="Left", distance_m=0.5)
    stage.desk.advance(2.0)
    assert COMPRESSION_POINT_DBM < 19.14 - 20.75
    for carrier in ("rack-1/carrier/1", "rack-1/carrier/2"):
        assert stage.desk.last(f"{carrier}/branch/a", "overload") is True
        assert stage.desk.last(f"{carrier}/branch/b", "overload") is False
    assert stage.mean("rack-1/carrier/2/branch/a", "floor_dbm") > floor + 10.0
    stage.throw("put_back", pack="pack/p1")
    stage.desk.advance(2.0)
    assert stage.desk.last(BRANCH_A, "overload") is False


def test_another_key_is_no_key_and_both_ends_say_which() -> None:
    stage = _stage()
    told = stage.throw("change_key", pack="pack/p1")["key_fingerprint"]
    stage.desk.advance(2.0)
    assert stage.desk.last(CHANNEL, "audio_state") == AUDIO_STATES.index("no_key")
    assert stage.desk.last(CHANNEL, "peak_dbfs") == -144.0
    assert stage.desk.last(CARRIER, "link_quality") == 1.0
    assert stage.desk.exact(PACK, "key_fingerprint") == told != stage.desk.exact(CHANNEL, "key_fingerprint")
    stage.throw("restore_key", pack="pack/p1")
    stage.desk.advance(2.0)
    assert stage.desk.last(CHANNEL, "audio_state") == AUDIO_STATES.index("open")
    assert stage.desk.exact(PACK, "key_fingerprint") == stage.desk.exact(CHANNEL, "key_fingerprint")


def test_a_clock_ten_parts_in_a_million_off_slips_every_two_seconds() -> None:
    """48,000 samples a second times 10 in a million is 0.48 a second, 28.8 in a minute, by hand."""
    stage = _stage(distribution=True)  # It stands in the same rack, and has no audio clock.
    assert stage.throw("lead_clock", rack="Rack", ppm=-10)["devices"] == ["rack-1"]
    stage.desk.advance(60.0)
    told = {name: stage.desk.last("rack-1", name) for name in ("slip_count", "clock_error_ppm", "clock_locked")}
    assert told == {"slip_count": 28.0, "clock_error_ppm": -10.0, "clock_locked": True}
    stage.throw("lead_clock", device_id="rack-1", ppm=0, locked=False)
    stage.desk.advance(10.0)
    assert stage.desk.last("rack-1", "slip_count") == 28.0
    assert stage.desk.last("rack-1", "clock_locked") is False


def test_a_source_too_loud_clips_at_the_pack() -> None:
    stage = _stage(talk=0.9)
    stage.desk.advance(60.0)
    assert not any(stage.desk.series(PACK, "input_overload"))
    stage.throw("change_source", pack="pack/p1", gain_db=30.0)
    stage.desk.advance(60.0)
    clipped = np.array(stage.desk.series(PACK, "input_overload")[-600:], dtype=bool)
    peaks = np.array(stage.desk.series(CHANNEL, "peak_dbfs")[-600:], dtype=float)
    assert clipped.any()
    assert np.all(peaks[clipped] == 0.0)


def test_a_broken_lead_is_silence_and_full_scale_in_turn_with_the_radio_perfect() -> None:
    stage = _stage()
    stage.throw("break_lead", pack="pack/p1")
    stage.desk.advance(20.0)
    peaks = stage.desk.series(CHANNEL, "peak_dbfs")[-200:]
    assert peaks.count(-144.0) > 40
    assert peaks.count(0.0) > 40
    assert set(stage.desk.series(CARRIER, "link_quality")[-200:]) == {1.0}
    stage.throw("mend_lead", pack="pack/p1")
    stage.desk.advance(2.0)
    assert -144.0 not in stage.desk.series(CHANNEL, "peak_dbfs")[-15:]


def test_cells_of_another_type_make_the_gauge_err() -> None:
    """A pack that believes in lithium ion, 3 V at the least, finds two fresh alkaline cells of 3.16 V all but empty."""
    stage = _stage()
    stage.throw("put_cells", pack="pack/p1", cells="alkaline", charge=1.0)
    stage.desk.advance(2.0)
    assert (stage.desk.last(PACK, "battery_fraction") or 0.0) < 0.1
    assert isinstance(stage.desk.write(PACK, "c1", cell_type="alkaline"), messages.WriteResult)
    stage.desk.advance(3.0)
    assert (stage.desk.last(PACK, "battery_fraction") or 0.0) > 0.8


def test_a_stranger_on_the_frequency_is_foreign_and_damages_the_sound() -> None:
    stage = _stage()
    stage.throw("start_stranger", name="neighbour", frequency_hz=520_000_000, erp_mw=10, position_m=[0, 5, 3])
    stage.desk.advance(3.0)
    assert stage.desk.last(CARRIER, "foreign") is True
    assert stage.mean(CHANNEL, "audio_damage_fraction") > 0.3
    assert stage.desk.last("rack-1/carrier/2", "foreign") is False
    stage.throw("stop_stranger", name="neighbour")
    stage.desk.advance(2.0)
    assert stage.desk.last(CARRIER, "foreign") is False


def test_a_wide_stranger_raises_the_floor_under_it() -> None:
    """1 W ERP is 32.15 dBm; 72.75 dB over 200 m at 520 MHz (P.525); 200 kHz of 8 MHz is -16.02 dB: -56.6 dBm."""
    stage = _stage()
    stage.throw(
        "start_stranger",
        name="mast",
        frequency_hz=522_000_000,
        erp_mw=1_000,
        bandwidth_hz=8_000_000,
        position_m=[-5, 200, 3],
    )
    assert stage.mean(BRANCH_A, "floor_dbm") == pytest.approx(32.15 - 72.8 - 16.02, abs=0.3)
    assert stage.desk.last(CARRIER, "foreign") is False


@pytest.mark.parametrize(
    ("method", "params"),
    [
        ("break_feed", {"antenna": "Nowhere", "fault": "open"}),
        ("lead_clock", {"ppm": 3}),
        ("lead_clock", {"ppm": 3, "rack": "None"}),
        ("put_cells", {"pack": "pack/p1", "cells": "lemon"}),
        ("stop_stranger", {"name": "nobody"}),
        ("carry_pack", {"pack": "pack/p1", "antenna": "Left", "distance_m": 0.1}),
        ("start_stranger", {"name": "x", "frequency_hz": -1, "position_m": [0, 0, 0]}),
    ],
)
def test_what_cannot_be_is_refused(method: str, params: dict[str, object]) -> None:
    stage = _stage()
    server = ExerciseServer(stage.desk.fleet, lambda: stage.desk.now_us, "token")
    answer = json.loads(server.answer(json.dumps({"jsonrpc": "2.0", "id": 1, "method": method, "params": params})))
    assert "error" in answer
