"""No setting is written faster than its device allows."""

from __future__ import annotations

from dataclasses import replace

from fleet.model.command import CommandState
from fleet.model.device import ContactState
from fleet.model.fields import Value
from fleet.model.observation import Answer, Contact
from tests.small_fleet import Hand
from tests.state.test_clerk import PACK, ready

S = CommandState


def refused_at_once(hand: Hand, command_id: str, **changes: Value) -> None:
    """A write that the device answers, so that it has had it, and that changes no settings."""
    hand.write(command_id, PACK, changes)
    hand.answer("quay-1", command_id, Answer.REFUSED)


def test_a_second_write_of_a_setting_waits_its_second_and_another_setting_does_not() -> None:
    hand = ready()
    refused_at_once(hand, "c1", low_cut_hz=100)
    hand.write("other", PACK, {"rf_power_mw": 50.0})
    assert hand.command("other").state is S.SENT
    hand.answer("quay-1", "other", Answer.REFUSED)
    hand.write("c2", PACK, {"low_cut_hz": 110})
    hand.run(0.9, ["quay-1"])
    assert hand.command("c2").state is S.REQUESTED
    hand.run(0.1, ["quay-1"])
    assert hand.command("c2").state is S.SENT


def test_the_second_counts_from_the_answer() -> None:
    hand = ready()
    hand.write("c1", PACK, {"low_cut_hz": 100})
    hand.run(1.5, ["quay-1"])
    hand.answer("quay-1", "c1", Answer.REFUSED)
    hand.write("c2", PACK, {"low_cut_hz": 110})
    hand.run(0.9, ["quay-1"])
    assert hand.command("c2").state is S.REQUESTED


def test_of_many_quick_changes_the_last_one_is_sent() -> None:
    hand = ready()
    refused_at_once(hand, "c1", low_cut_hz=100)
    for number, low_cut_hz in enumerate((110, 120, 130), start=2):
        hand.write(f"c{number}", PACK, {"low_cut_hz": low_cut_hz})
    hand.run(1.0, ["quay-1"])
    assert [hand.command(f"c{number}").state for number in (2, 3, 4)] == [S.SUPERSEDED, S.SUPERSEDED, S.SENT]


def test_a_slow_setting_does_not_expire_while_it_waits_for_its_turn() -> None:
    hand = ready()
    described = hand.pipeline.devices()[0].description
    assert described is not None
    slow = tuple(replace(each, fastest_interval_ms=5_000) for each in described.capabilities)
    description = replace(described, capabilities=slow)
    hand.give(Contact(hand.at, "quay-1", ContactState.FRESH, boot_id="b1", description=description))
    refused_at_once(hand, "c1", low_cut_hz=100)
    hand.write("c2", PACK, {"low_cut_hz": 110})
    hand.run(4.9, ["quay-1"])
    assert hand.command("c2").state is S.REQUESTED
    hand.run(0.1, ["quay-1"])
    assert hand.command("c2").state is S.SENT
