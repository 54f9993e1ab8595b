"""Settings that hang on others, and revisions that several things share."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.errors import InvalidRequest, RevisionStale, ValueRefused
from fleet.model.capability import Capability, Condition, Held, SchemaType, ValueSchema
from fleet.model.command import CommandState
from fleet.model.settings import Cause, counter_of
from fleet.model.snapshot import JournalStatus
from tests.state import ear_fleet
from tests.state.ear_fleet import CARRIER, EAR, OUTPUT, ready

S = CommandState
JOURNAL = JournalStatus(writable=True, written_utc_us=None, waiting=0)


def test_the_capability_in_force_follows_the_mode() -> None:
    hand = ready()
    assert hand.pipeline.settings(CARRIER).in_force == {
        "mode": 1,
        "bandwidth_hz": 2,
        "squelch_dbm": 4,
        "rf_power_mw": 5,
        "rf_on": 6,
    }
    hand.pipeline.settings_changes()
    hand.report(EAR, CARRIER, {"mode": "wide"})
    assert hand.pipeline.settings(CARRIER).in_force == {"mode": 1, "bandwidth_hz": 3, "rf_power_mw": 5, "rf_on": 6}
    assert {view.address for view in hand.pipeline.settings_changes()} >= {EAR, CARRIER, OUTPUT}


def test_a_write_is_held_against_what_is_in_force_now() -> None:
    hand = ready()
    with pytest.raises(ValueRefused) as refused:
        hand.write("c1", CARRIER, {"bandwidth_hz": 6_000_000})
    assert refused.value.allowed["enum"] == [200_000]
    hand.report(EAR, CARRIER, {"mode": "wide"})
    hand.write("c1", CARRIER, {"bandwidth_hz": 6_000_000})
    assert hand.command("c1").state is S.SENT
    with pytest.raises(ValueRefused, match="is not there now: it hangs on mode"):
        hand.write("c2", CARRIER, {"squelch_dbm": -80.0})


def test_a_write_that_was_kept_is_held_against_what_is_in_force_when_it_goes_out() -> None:
    hand = ready()
    hand.write("c1", CARRIER, {"mode": "wide"})
    hand.write("c2", CARRIER, {"bandwidth_hz": 200_000})
    assert hand.command("c2").state is S.REQUESTED
    hand.report(EAR, CARRIER, {"mode": "wide"}, cause=Cause.COMMAND, command_id="c1")
    assert hand.states_of("c2") == [S.REQUESTED, S.REFUSED]
    assert "must be one of 6000000" in hand.command("c2").reason


def test_a_setting_that_is_guarded_in_some_mode_is_locked_in_every_mode(monkeypatch: pytest.MonkeyPatch) -> None:
    wide = Condition("mode", ("wide",))
    also = Capability(
        (CARRIER,), "squelch_dbm", ValueSchema(SchemaType.NUMBER), Held.RECEIVER, guarded=True, when=(wide,)
    )
    described = replace(ear_fleet.DESCRIPTION, capabilities=(*ear_fleet.DESCRIPTION.capabilities, also))
    monkeypatch.setattr(ear_fleet, "DESCRIPTION", described)
    hand = ready()
    with pytest.raises(InvalidRequest, match="locked"):
        hand.write("c1", CARRIER, {"squelch_dbm": -80.0})
    with pytest.raises(InvalidRequest, match="one setting at a time"):
        hand.write("c1", CARRIER, {"mode": "wide", "squelch_dbm": -80.0})
    assert hand.pipeline.commands() == ()


@pytest.mark.parametrize(
    ("address", "counter"),
    [
        ("ear-1", "ear-1"),
        ("ear-1/output/1", "ear-1"),
        ("ear-1/input/a", "ear-1"),
        ("ear-1/bay/3", "ear-1"),
        ("ear-1/carrier/1", "ear-1/carrier/1"),
        ("ear-1/carrier/1/branch/a", "ear-1/carrier/1"),
        ("ear-1/channel/1", "ear-1/channel/1"),
        ("pack/s21", "pack/s21"),
    ],
)
def test_who_counts_the_revisions_of_what(address: str, counter: str) -> None:
    """As contracts of revisions have it: a device with its outputs, inputs and bays, a carrier with its branches."""
    assert counter_of(address) == counter


def test_things_that_share_a_counter_show_its_latest_revision() -> None:
    hand = ready()
    hand.revisions[OUTPUT] = 7
    hand.report(EAR, OUTPUT, {"level_db": -3.0}, cause=Cause.PANEL)
    assert hand.pipeline.settings(EAR).revision == hand.pipeline.settings(OUTPUT).revision == "b1.8"
    with pytest.raises(RevisionStale):
        hand.write("c1", EAR, {"name": "Bridge"}, revision="b1.1")
    hand.write("c1", EAR, {"name": "Bridge"}, revision="b1.8")
    hand.write("c2", OUTPUT, {"level_db": 0.0}, revision="b1.8")
    assert (hand.command("c1").state, hand.command("c2").state) == (S.SENT, S.REQUESTED), "one after the other"
    hand.revisions[EAR] = 8
    hand.report(EAR, EAR, {"name": "Bridge"}, cause=Cause.COMMAND, command_id="c1")
    assert (hand.command("c1").state, hand.command("c2").state) == (S.CONFIRMED, S.SENT)
    assert hand.command("c2").revision == "b1.9"


def test_one_turn_that_changes_two_things_at_one_revision_loses_neither() -> None:
    hand = ready()
    hand.revisions[OUTPUT] = hand.revisions[EAR] = 4
    hand.report(EAR, EAR, {"name": "Bridge"})
    hand.report(EAR, OUTPUT, {"level_db": -6.0})
    assert hand.pipeline.settings(EAR).reported["name"] == "Bridge"
    assert hand.pipeline.settings(OUTPUT).reported["level_db"] == -6.0


def test_outputs_inputs_and_bays_have_rows_and_settings_like_any_other_thing() -> None:
    hand = ready()
    rows = {view.place.value: view.rows for view in hand.pipeline.snapshot(hand.at, 0, JOURNAL).tables}
    assert rows["output"] == (OUTPUT,)
    assert rows["input"] == ("ear-1/input/a",)
    assert rows["bay"] == ("ear-1/bay/1",)
    assert hand.pipeline.settings(OUTPUT).controlled_through == EAR
