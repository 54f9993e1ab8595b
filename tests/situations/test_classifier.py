"""The classifier on evenings written by hand: each signature whole, with a piece missing, with a thing changed.

No world takes part: a false claim of the classifier can't hide behind a world that agrees with it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.situations import signatures
from tests.situations.classifier import CANDIDATES, Finding, classify
from tests.situations.made_up import FIDDLER, KEEPER, ONSET_S, PILOT, RACKS, evening, put, silence
from tests.situations.recording import Recording
from tests.situations.signatures import SIGNATURES, SPARE_EVIDENCE, gone, leaves, lies, reads, sets, tells

PIECES = [(number, words) for number, each in SIGNATURES.items() for words in each.evidence]


def found(made: Recording) -> set[Finding]:
    """What is found from five seconds after the onset on."""
    until_s = (made.frames - 1) * 0.2
    return classify(made, ONSET_S + 5.0, until_s)


def numbers(made: Recording) -> set[int]:
    """The same, without the places."""
    return {each.number for each in found(made)}


def test_nothing_is_found_on_a_healthy_evening() -> None:
    assert found(evening()) == set()
    assert found(evening(400.0)) == set()


@pytest.mark.parametrize("number", SIGNATURES)
def test_a_whole_signature_is_found_where_it_is_and_nothing_else(number: int) -> None:
    signature = SIGNATURES[number]
    assert found(signature.without()) == {Finding(number, place) for place in signature.places}


@pytest.mark.parametrize(("number", "left_out"), PIECES)
def test_with_a_piece_missing_it_is_not_claimed(number: int, left_out: str) -> None:
    if (number, left_out) in SPARE_EVIDENCE:
        assert number in numbers(SIGNATURES[number].without(left_out))
    else:
        assert number not in numbers(SIGNATURES[number].without(left_out))


def test_all_twenty_are_here() -> None:
    assert sorted(SIGNATURES) == list(range(1, 21))
    assert {number for number in SIGNATURES if Finding(number, "").candidate} == CANDIDATES == {11, 15}


ONE_THING = [
    (6, "overload says whose fault the floors are", reads("overload", 1.0, *signatures.EVERY)),
    (7, "quality is poor when they are apart, too", reads("link_quality", 0.5, KEEPER.carrier)),
    (7, "the frequency is not where their product falls", sets(KEEPER.carrier, "frequency_hz", 518_400_000)),
    (10, "the radio is to blame", reads("link_quality", 0.5, KEEPER.carrier)),
    (13, "the radio is to blame", reads("link_quality", 0.5, KEEPER.carrier)),
    (13, "the pack has that key as well", tells(KEEPER.pack, "key_fingerprint", "another key")),
    (11, "the trim went down by as much", lambda made: made.settings[KEEPER.address, "trim_db"].append((200.0, -12))),
    (16, "nothing is there to be let through", lies(-104.0, 5.0, *FIDDLER.branches)),
    (18, "the clock isn't locked", reads("clock_locked", 0.0, "house-1")),
    (
        20,
        "the pack followed",
        lambda made: made.exact[KEEPER.pack, "reported_frequency_hz"].append((21.0, 558_100_000)),
    ),
]


@pytest.mark.parametrize(("number", "words", "edit"), ONE_THING, ids=[f"{each[0]}: {each[1]}" for each in ONE_THING])
def test_one_thing_more_and_it_is_another_matter(number: int, words: str, edit: signatures.Edit) -> None:
    made = SIGNATURES[number].without()
    edit(made)
    assert number not in numbers(made), words


def test_a_planned_sleep_is_no_fault_and_an_early_one_is() -> None:
    assert found(_asleep(planned_from_s=0.0)) == set()
    assert found(_asleep(planned_from_s=1_000.0)) == {Finding(3, KEEPER.carrier)}


def _asleep(planned_from_s: float) -> Recording:
    made = SIGNATURES[3].without()
    sleeps = ((KEEPER.pack, planned_from_s, planned_from_s + 600.0),)
    return replace(made, plan=replace(made.plan, sleeps=sleeps))


def test_a_carrier_gone_long_after_a_command_is_not_the_commands_doing() -> None:
    made = SIGNATURES[20].without("a command")
    made.settings[KEEPER.carrier, "frequency_hz"].append((5.0, 558_100_000))
    assert found(made) == set()


def test_a_gap_of_two_seconds_is_nothing() -> None:
    made = evening()
    for device in RACKS:
        silence(made, device, 40.0, 42.0)
    assert found(made) == set()


def test_devices_that_stop_one_after_the_other_are_not_a_lost_network() -> None:
    made = evening()
    for number, device in enumerate(("house-split", "house-1", "house-2")):
        silence(made, device, ONSET_S + 3.0 * number)
    assert 19 not in numbers(made)


def test_an_unplanned_spare_may_sleep() -> None:
    made = SIGNATURES[3].without()
    made.settings[KEEPER.address, "name"].append((ONSET_S, "Spare"))
    assert found(made) == set()


def test_forty_symptoms_of_one_distribution_are_one_cause() -> None:
    made = SIGNATURES[9].without()
    for each in signatures.HOUSE:
        put(made, each.carrier, "link_quality", 0.5)
    assert found(made) == {Finding(9, "house-split")}


def test_two_at_once_are_both_found() -> None:
    made = SIGNATURES[1].without()
    lies(-90.0, 5.0, KEEPER.branches[0])(made)
    put(made, KEEPER.carrier, "link_quality", 0.5)
    assert found(made) == {Finding(1, "House right"), Finding(4, KEEPER.carrier)}


def test_of_a_rack_that_says_nothing_nothing_else_is_claimed() -> None:
    made = SIGNATURES[19].without()
    for edit in SIGNATURES[16].evidence.values():
        edit(made)
    assert found(made) == {Finding(19, "House rack"), Finding(16, FIDDLER.address)}


def test_one_who_is_gone_without_a_word_is_not_explained() -> None:
    made = evening()
    gone(PILOT)(made)
    assert found(made) == set()
    leaves(PILOT, "cells")(made)
    assert found(made) == {Finding(2, PILOT.carrier)}


def test_levels_that_drop_at_once_without_any_harm_are_a_fade() -> None:
    made = evening()
    fades = np.where(np.arange(made.frames) % 20 < 3, -95.0, -60.0)
    put(made, KEEPER.branches[0], "rf_dbm", fades)
    assert found(made) == set()
