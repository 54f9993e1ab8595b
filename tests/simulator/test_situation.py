"""The documents of the situations: whole, checked, and refused where they can't be."""

from __future__ import annotations

import pytest

from fleet.errors import InvalidDocument
from simulator.play import play_of
from simulator.scenario_checks import load
from simulator.situation import decode_situation, load_situation, situation_names
from simulator.virtual_fleet import VirtualFleet

GOOD = """
numbers = [1]
title = "A branch is deaf"
cause = "the feed is open"
signature = "one branch deaf"
stage = "stage-house"
onset_s = 5
lasts_s = 10

[on]
path = "House right"

[[script]]
act = "break_feed"
params = { antenna = "$path", fault = "open" }
"""


def test_there_are_twenty_situations_five_healthy_ones_and_two_pairs() -> None:
    found = [load_situation(name) for name in situation_names()]
    singles = [each.numbers[0] for each in found if len(each.numbers) == 1]
    assert sorted(singles) == list(range(1, 21))
    assert sum(1 for each in found if not each.numbers) == 5
    assert sorted(each.numbers for each in found if len(each.numbers) == 2) == [(1, 4), (7, 14)]
    assert {each.numbers[0] for each in found if each.candidate} == {11, 15}


@pytest.mark.parametrize("name", situation_names())
def test_every_step_of_it_can_be_done_on_its_stage(name: str) -> None:
    situation = load_situation(name)
    play = play_of(VirtualFleet(load(situation.stage), 1), situation)
    for way in (*situation.cure, *situation.wrong):
        play.check(way.step)
    assert situation.take_back or not situation.script
    if len(situation.numbers) == 1:
        assert situation.cure
        assert situation.wrong


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("onset_s = 5", "onset_s = 5\nvolume = 3", "volume"),
        ('act = "break_feed"\n', "", "script[0]"),
        ("onset_s = 5", "onset_s = -5", "onset_s"),
        ("numbers = [1]", "numbers = [1]\ncandidate = true", "test"),
        ("lasts_s = 10", "", "lasts_s"),
        ("lasts_s = 10", 'lasts_s = 10\n[[take_back]]\nact = "time"\nafter_s = 3', "take_back[0].after_s"),
    ],
)
def test_a_document_that_cannot_be_is_refused_with_its_key(old: str, new: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        decode_situation("wrong.toml", GOOD.replace(old, new))
    assert f"wrong.toml: {key}" in str(caught.value)


def test_a_file_that_is_not_there_is_refused_with_what_there_is() -> None:
    with pytest.raises(InvalidDocument, match="01-deaf-branch"):
        load_situation("99-nothing")
