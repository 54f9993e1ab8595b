"""Situations thrown live: on what was asked for, and taken back without a trace."""

from __future__ import annotations

import json
from typing import Any

import pytest

from simulator.evening import open_fleet
from simulator.exercise import ExerciseServer
from simulator.live_faults import THROWN_MAXIMUM
from simulator.scenario_checks import load
from simulator.situation import load_situation, situation_names
from simulator.virtual_fleet import VirtualFleet

SEED = 5
SHOWN_US = 8_000_000


class Instructor:
    """Somebody at the exercise port, in a world of their own time."""

    def __init__(self, stage: str) -> None:
        print(f"seed {SEED}")
        self.fleet = VirtualFleet(load(stage), SEED)
        self.now_us = 0
        self._server = ExerciseServer(self.fleet, lambda: self.now_us, "token")

    def ask(self, method: str, **params: object) -> dict[str, Any]:
        request = {"jsonrpc": "2.0", "id": 1, "method": method, "params": params}
        answer: dict[str, Any] = json.loads(self._server.answer(json.dumps(request)))
        return answer

    def result(self, method: str, **params: object) -> dict[str, Any]:
        answer = self.ask(method, **params)
        assert "result" in answer, answer
        found: dict[str, Any] = answer["result"]
        return found

    def advance(self, until_us: int) -> None:
        while self.now_us < until_us:
            self.now_us += 100_000
            self.fleet.advance(self.now_us)

    def state(self) -> dict[str, object]:
        """What is set and broken, but for what only time changes."""
        world = self.fleet.world
        return {
            "packs": [
                (pack.name, dict(pack.settings), pack.key, pack.dead, pack.cells.chemistry.name) for pack in world.packs
            ],
            "fronts": [(dict(front.carrier), dict(front.channel), front.key) for front in world.fronts],
            "feeds": {name: (feed.fault, feed.distribution_works) for name, feed in world.feeds.by_antenna.items()},
            "strangers": sorted(world.loads.strangers),
            "clocks": {name: device.vitals.slips_per_s for name, device in self.fleet.devices.items()},
            "supplies": {name: device.vitals.supply_ok for name, device in self.fleet.devices.items()},
            "silent": [name for name, device in self.fleet.devices.items() if device.is_silent(self.now_us)],
            "links": [(link.held, link.dropped) for link in world.links],
            "loudness": world.microphones.source_db.tolist(),
            "leads": sorted(world.microphones.broken),
            "wearers": world.bodies.wearers.tolist(),
            "carried": world.bodies.carried,
        }


@pytest.mark.parametrize("name", situation_names())
def test_what_was_thrown_is_taken_back_without_a_trace(name: str) -> None:
    instructor = Instructor(load_situation(name).stage)
    instructor.advance(2_000_000)
    before = instructor.state()
    thrown = instructor.result("throw", situation=name)
    assert thrown["problems"] == []
    instructor.advance(SHOWN_US)
    assert list(instructor.result("thrown")) == [thrown["id"]]
    assert instructor.result("take_back", id=thrown["id"])["problems"] == []
    instructor.advance(instructor.now_us + 3_000_000)
    assert instructor.state() == before
    assert instructor.result("thrown") == {}


def test_it_falls_on_what_is_named() -> None:
    instructor = Instructor("tern-rock")
    instructor.result("throw", situation="13-wrong-key", on={"channel": "house-3/channel/2"})
    instructor.result("throw", situation="01-deaf-branch", on={"path": "Quay north"})
    instructor.result("throw", situation="19-network-lost", on={"rack": "House rack", "channel": "house-1/channel/1"})
    instructor.result("throw", situation="06-block-lost", on={"block_hz": 602_000_000, "path": "Quay north"})
    world = instructor.fleet.world
    row = next(row for row in world.rows if row.channel == "house-3/channel/2")
    assert world.packs[row.seat].key != world.fronts[row.index].key
    assert world.feeds.by_antenna["Quay north"].fault == "open"
    assert instructor.fleet.device("house-8").is_silent(instructor.now_us)
    assert [each.frequency_hz for each in world.loads.strangers.values()][-1] == 602_000_000


@pytest.mark.parametrize(
    ("situation", "on", "words"),
    [
        ("13-wrong-key", {"channel": "house-9/channel/1"}, "channel"),
        ("01-deaf-branch", {"path": "Roof"}, "antenna"),
        ("19-network-lost", {"rack": "Cellar"}, "rack"),
        ("21-nothing", {}, "situation"),
        ("17-phantom-off", {"channel": "house-1/channel/1"}, "phantom"),
    ],
)
def test_a_wrong_target_is_refused_and_nothing_is_done(situation: str, on: dict[str, str], words: str) -> None:
    instructor = Instructor("stage-house")
    before = instructor.state()
    answer = instructor.ask("throw", situation=situation, on=on)
    assert words in answer["error"]["message"]
    assert instructor.state() == before
    assert instructor.result("thrown") == {}


def test_the_same_is_thrown_on_two_channels_and_each_is_taken_back_alone() -> None:
    instructor = Instructor("stage-house")
    strangers = instructor.fleet.world.loads.strangers
    one = instructor.result("throw", situation="05-same-frequency-next-door", on={"channel": "house-1/channel/1"})
    instructor.result("throw", situation="05-same-frequency-next-door", on={"channel": "house-2/channel/1"})
    assert [each.frequency_hz for each in strangers.values()] == [518_100_000, 519_700_000]
    assert instructor.result("take_back", id=one["id"])["problems"] == []
    assert [each.frequency_hz for each in strangers.values()] == [519_700_000]


def test_it_ends_by_itself_where_that_is_asked_for() -> None:
    instructor = Instructor("stage-house")
    before = instructor.state()
    instructor.result("throw", situation="13-wrong-key", lasts_s=3.0)
    instructor.advance(2_900_000)
    assert instructor.state() != before
    instructor.advance(3_000_000)
    assert instructor.state() == before
    assert instructor.result("thrown") == {}


def test_what_cannot_be_done_after_all_is_undone_and_refused() -> None:
    instructor = Instructor("stage-house")
    before = instructor.state()
    answer = instructor.ask(
        "throw", situation="16-squelch-tight", on={"channel": "quay-1/channel/1", "place_m": [0, 99, 1]}
    )
    assert "outside the venue" in answer["error"]["message"]
    answer = instructor.ask("throw", situation="15-packs-swapped", on={"other": "house-1/channel/1"})
    assert "can't be thrown there, and was undone" in answer["error"]["message"]
    assert instructor.state() == before
    assert instructor.result("thrown") == {}


def test_no_more_than_sixteen_at_once() -> None:
    instructor = Instructor("stage-house")
    for _ in range(THROWN_MAXIMUM):
        instructor.advance(instructor.now_us + 100_000)
        instructor.result("throw", situation="decoy-1-deep-fades")
    assert "at most" in instructor.ask("throw", situation="decoy-1-deep-fades")["error"]["message"]
    assert "error" in instructor.ask("take_back", id="nothing")


def test_all_situations_are_listed_in_words() -> None:
    found = Instructor("stage-house").result("situations")
    assert tuple(found) == situation_names()
    assert found["20-half-a-retune"]["numbers"] == [20]


def test_a_situation_runs_by_itself_from_its_onset() -> None:
    fleet = open_fleet("10-broken-lead", SEED)
    onset_us = round(load_situation("10-broken-lead").onset_s * 1_000_000)
    fleet.advance(onset_us - 100_000)
    assert not fleet.world.microphones.broken
    fleet.advance(onset_us)
    assert fleet.world.microphones.broken
