"""Steps at their times: acts, writes over the device protocol, names filled in, problems kept."""

from __future__ import annotations

import pytest

from fleet.errors import InvalidRequest, NotFound, RedpollError
from simulator.play import Play
from simulator.scenario_checks import load
from simulator.situation import On
from simulator.step import Parameter, Step
from simulator.targets import filled, names_of
from simulator.virtual_fleet import VirtualFleet

SEED = 3


@pytest.fixture
def play() -> Play:
    fleet = VirtualFleet(load("stage-house"), SEED)
    found = Play(fleet, names_of(fleet, On(channel="house-1/channel/1", place_m=(42.0, 0.0, 1.3))))
    fleet.plays["tried"] = found
    return found


def _until(play: Play, until_us: int) -> None:
    for now_us in range(100_000, until_us + 1, 100_000):
        play.fleet.advance(now_us)


def test_each_step_is_performed_at_its_time_and_in_order(play: Play) -> None:
    microphones = play.fleet.world.microphones
    break_lead = Step(act="break_lead", params={"pack": "$channel.pack"}, after_s=2.0)
    mend_lead = Step(act="mend_lead", params={"pack": "$channel.pack"}, after_s=4.0)
    play.schedule([mend_lead, break_lead], 1_000_000)
    _until(play, 2_900_000)
    assert not microphones.broken
    _until(play, 3_000_000)
    assert microphones.broken
    _until(play, 5_000_000)
    assert not microphones.broken
    assert play.problems == []


def test_a_write_goes_the_way_of_a_command(play: Play) -> None:
    play.schedule([Step(write="$channel.carrier", params={"frequency_hz": "$channel.frequency_hz+3200000"})], 0)
    _until(play, 1_000_000)
    assert play.fleet.world.fronts[0].carrier["frequency_hz"] == 521_300_000
    assert play.problems == []


def test_a_write_that_the_device_refuses_is_a_problem_in_words(play: Play) -> None:
    play.schedule([Step(write="$channel.carrier", params={"frequency_hz": 12})], 0)
    _until(play, 100_000)
    assert len(play.problems) == 1
    assert "house-1/carrier/1" in play.problems[0]


def test_what_is_forgotten_never_happens(play: Play) -> None:
    play.schedule([Step(act="break_lead", params={"pack": "$channel.pack"})], 1_000_000)
    play.forget()
    _until(play, 2_000_000)
    assert not play.fleet.world.microphones.broken


@pytest.mark.parametrize(
    ("parameter", "value"),
    [
        ("plain", "plain"),
        (7, 7),
        ("$channel.carrier", "house-1/carrier/1"),
        ("$channel.frequency_hz-100000", 518_000_000),
        ("$channel.last_path", "House right"),
        ("$channel.pack:standby", False),
        ("$place_m", [42.0, 0.0, 1.3]),
        (["$channel.path", 2], ["House left", 2]),
    ],
)
def test_names_are_filled_in(play: Play, parameter: Parameter, value: Parameter) -> None:
    assert filled(parameter, play.names) == value


@pytest.mark.parametrize("parameter", ["$other.pack", "$channel.name+3", "$channel.", ["$place_m"]])
def test_a_name_that_stands_for_nothing_is_refused(play: Play, parameter: Parameter) -> None:
    with pytest.raises(InvalidRequest):
        filled(parameter, play.names)


@pytest.mark.parametrize(
    ("step", "error"),
    [
        (Step(act="sing"), InvalidRequest),
        (Step(act="break_lead", params={"pack": "pack/none"}), NotFound),
        (Step(act="break_lead", params={"pack": "$channel.pack", "volume": 3}), InvalidRequest),
        (Step(act="cut_network", params={"rack": "Cellar"}), NotFound),
        (Step(act="carry_pack", params={"pack": "$channel.pack", "antenna": "Roof"}), NotFound),
        (Step(act="move_pack", params={"pack": "$channel.pack", "position_m": [500.0, 0.0, 1.0]}), InvalidRequest),
        (Step(act="reboot", params={"device_id": "house-9"}), NotFound),
        (Step(write="house-9/carrier/1", params={"frequency_hz": 1}), NotFound),
        (Step(write="$channel.carrier", params={"frequency_hz": [1, 2]}), InvalidRequest),
    ],
)
def test_what_cannot_be_done_is_said_before_it_is_tried(play: Play, step: Step, error: type[RedpollError]) -> None:
    with pytest.raises(error):
        play.check([step])
