from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.model.address import Place
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.command import CommandState
from fleet.model.device import ContactState
from fleet.model.event import AlarmChanged, ContactChanged, DeviceDescribed, SettingsChanged
from fleet.model.event_json import encode_event
from fleet.model.inputs import Acknowledge, DocumentChanged, OperatorAction, Restored
from fleet.model.observation import Answer
from fleet.model.quality import Quality
from fleet.model.rule import Rule, Side
from fleet.model.settings import Cause
from fleet.model.snapshot import JournalStatus
from fleet.pipeline import Pipeline
from tests.small_fleet import Hand

WEAK = {"rf_dbm": -95.0, "rf_min_dbm": -97.0, "rf_max_dbm": -93.0}
CARRIER_ALARM = "weak-rf:quay-1/carrier/1"
LOST_ALARM = "contact-lost:quay-1"


def ready(*device_ids: str) -> Hand:
    hand = Hand()
    hand.produce(*device_ids)
    for device_id in device_ids:
        hand.connect(device_id)
    hand.run(1.0, device_ids)
    return hand


def test_a_device_that_connects_is_told_of_once() -> None:
    hand = ready("quay-1")
    kinds = [type(event) for event in hand.events]
    assert kinds.count(ContactChanged) == 1
    assert kinds.count(DeviceDescribed) == 1
    assert kinds.count(SettingsChanged) == 2
    assert hand.heartbeat("quay-1") == ()


def test_weak_rf_is_raised_after_a_second_and_cleared_after_three() -> None:
    hand = ready("quay-1")
    hand.run(1.0, ["quay-1"], WEAK)
    assert hand.alarm_states(CARRIER_ALARM) == []
    hand.run(0.1, ["quay-1"], WEAK)
    assert hand.alarm_states(CARRIER_ALARM) == ["unacknowledged"]
    alarm = next(alarm for alarm in hand.pipeline.alarms() if alarm.alarm_id == CARRIER_ALARM)
    assert alarm.evidence == {
        "better_branch_margin_db": 10.0,
        "better_branch_rf_dbm": -95.0,
        "better_branch_floor_dbm": -105.0,
    }
    assert alarm.priority == 2
    hand.run(3.0, ["quay-1"])
    assert hand.alarm_states(CARRIER_ALARM) == ["unacknowledged"]
    hand.run(0.1, ["quay-1"])
    assert hand.alarm_states(CARRIER_ALARM) == ["unacknowledged", "returned unacknowledged"]


def test_contact_lost_is_raised_after_five_seconds_and_covers_its_rows() -> None:
    hand = ready("quay-1", "quay-2")
    hand.run(5.0, ["quay-2"])
    assert hand.alarm_states(LOST_ALARM) == []
    hand.contact("quay-1", ContactState.LOST, "no heartbeat for 5 s")
    hand.run(0.1, ["quay-2"])
    assert hand.alarm_states(LOST_ALARM) == ["unacknowledged"]
    (matter,) = hand.pipeline.matters()
    assert (matter.cause, matter.root, matter.priority) == ("contact-lost", "quay-1", 2)
    assert matter.rows == ("quay-1/channel/1", "quay-1/channel/2")
    hand.connect("quay-1")
    hand.run(3.2, ["quay-1", "quay-2"])
    assert hand.alarm_states(LOST_ALARM) == ["unacknowledged", "returned unacknowledged"]


def test_a_write_is_sent_accepted_and_confirmed_by_the_report() -> None:
    hand = ready("quay-1")
    hand.write("c1", "pack/quay-1-1", {"low_cut_hz": 100})
    assert hand.states_of("c1") == [CommandState.REQUESTED, CommandState.SENT]
    assert hand.pipeline.settings("pack/quay-1-1").desired[0].value == 100
    hand.answer("quay-1", "c1", Answer.ACCEPTED)
    hand.report("quay-1", "pack/quay-1-1", {"low_cut_hz": 100}, cause=Cause.COMMAND, command_id="c1")
    assert hand.states_of("c1")[2:] == [CommandState.ACCEPTED, CommandState.CONFIRMED]
    view = hand.pipeline.settings("pack/quay-1-1")
    assert (view.reported["low_cut_hz"], view.desired) == (100, ())


def test_a_snapshot_holds_the_whole_picture() -> None:
    hand = ready("quay-1")
    snapshot = hand.pipeline.snapshot(hand.at, 7, JournalStatus(True, None, 0))
    assert (snapshot.epoch, snapshot.sequence) == (1, 7)
    assert [view.place for view in snapshot.tables] == list(Place)
    assert {view.address for view in snapshot.settings} >= {"quay-1", "pack/quay-1-1", "quay-1/carrier/1"}
    cells = hand.pipeline.recent.on_axis(hand.at, 512)
    assert cells.median_dbm.shape == (2, 512)
    assert cells.median_dbm[0, 0] == -55.0


def test_matters_are_the_same_object_until_something_changes() -> None:
    hand = ready("quay-1")
    before = hand.pipeline.matters()
    hand.run(1.0, ["quay-1"])
    assert hand.pipeline.matters() is before
    hand.run(6.0)
    assert hand.pipeline.matters() is not before


@pytest.mark.parametrize("asked_often", [True, False])
def test_a_matter_keeps_its_id_whoever_asks_how_often(asked_often: bool) -> None:
    hand = ready("quay-1", "quay-2")
    hand.run(5.3)
    if asked_often:
        assert len(hand.pipeline.matters()) == 1
    hand.give(OperatorAction(hand.at, "operator", Acknowledge((LOST_ALARM,))))
    hand.contact("quay-1", ContactState.LOST)
    hand.connect("quay-1")
    hand.run(5.0, ["quay-1"])
    (matter,) = hand.pipeline.matters()
    assert matter.alarms == ("contact-lost:quay-2",)
    assert matter.matter_id.startswith("contact-lost:quay-1@")


def test_the_same_inputs_give_the_same_events() -> None:
    def played() -> list[bytes]:
        hand = ready("quay-1", "quay-2")
        hand.run(1.5, ["quay-1", "quay-2"], WEAK)
        hand.write("c1", "pack/quay-1-1", {"low_cut_hz": 100})
        hand.run(8.0, ["quay-2"])
        return [encode_event(event) for event in hand.events]

    first = played()
    assert len(first) > 15
    assert played() == first


def test_acknowledgement_survives_a_restart_and_the_restart_is_quiet() -> None:
    before = ready("quay-1")
    before.run(1.1, ["quay-1"], WEAK)
    before.give(OperatorAction(before.at, "operator", Acknowledge((CARRIER_ALARM,))))
    hand = Hand(Pipeline(epoch=2))
    assert hand.give(Restored(hand.at, (), before.pipeline.alarms())) == ()
    hand.produce("quay-1")
    hand.connect("quay-1")
    hand.run(5.0, ["quay-1"], WEAK)
    assert hand.alarm_states(CARRIER_ALARM) == []
    (kept,) = [alarm for alarm in hand.pipeline.alarms() if alarm.alarm_id == CARRIER_ALARM]
    assert (kept.acknowledged_by, kept.state.value) == ("operator", "acknowledged")


def test_a_restored_loss_of_contact_is_not_cleared_by_mere_silence() -> None:
    before = ready("quay-1")
    before.run(6.0)
    hand = Hand(Pipeline(epoch=2))
    hasty = tuple(replace(rule, off_delay_s=1.0) for rule in hand.pipeline.rules())
    hand.give(DocumentChanged(hand.at, hasty, 1))
    hand.give(Restored(hand.at, (), before.pipeline.alarms()))
    hand.contact("quay-1", ContactState.CONNECTING)
    hand.run(60.0)
    assert hand.alarm_states(LOST_ALARM) == []
    hand.connect("quay-1")
    hand.run(3.1, ["quay-1"])
    assert hand.alarm_states(LOST_ALARM) == ["returned unacknowledged"]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["frame", "gap", "lost", "late", "back"]), st.integers(1, 40)), max_size=12))
def test_no_value_looks_good_without_a_fresh_device_and_a_recent_report(path: list[tuple[str, int]]) -> None:
    hand = ready("quay-1")
    fresh, reported_s = True, hand.now_s
    for happening, tenths in path:
        if happening in ("lost", "late"):
            fresh = False
            hand.contact("quay-1", ContactState.LOST if happening == "lost" else ContactState.LATE)
        elif happening == "back":
            fresh = True
            hand.connect("quay-1")
        for _ in range(tenths):
            hand.now_s = round(hand.now_s + 0.1, 6)
            if happening == "frame":
                hand.frame("quay-1")
                reported_s = hand.now_s
            hand.tick()
            good = (hand.pipeline.tables[Place.BRANCH].qualities == Quality.GOOD).any()
            assert not good or (fresh and hand.now_s - reported_s <= 2.0001)


def test_alarms_of_devices_that_nobody_watches_any_more_end_at_the_start() -> None:
    before = ready("quay-1")
    before.run(1.1, ["quay-1"], WEAK)
    alarms = before.pipeline.alarms()
    hand = Hand(Pipeline(epoch=2))
    assert hand.give(Restored(hand.at, (), alarms, frozenset({"quay-1"}))) == ()
    other = Hand(Pipeline(epoch=3))
    ended = other.give(Restored(other.at, (), alarms, frozenset({"house-1"})))
    assert {event.alarm.alarm_id for event in ended if isinstance(event, AlarmChanged)} >= {CARRIER_ALARM}
    assert {event.alarm.state for event in ended if isinstance(event, AlarmChanged)} == {AlarmState.NORMAL}
    assert other.pipeline.alarms() == ()


def restored(*alarms: Alarm, watched: frozenset[str]) -> Hand:
    hand = Hand(Pipeline(epoch=2))
    hand.give(Restored(hand.at, (), alarms, watched))
    return hand


def test_an_alarm_of_what_its_device_has_no_longer_ends_once_that_is_known() -> None:
    before = ready("quay-1")
    before.run(1.1, ["quay-1"], WEAK)
    second = "weak-rf:quay-1/carrier/2"
    hand = restored(*before.pipeline.alarms(), watched=frozenset({"quay-1"}))
    hand.run(1.0)
    assert hand.alarm_states(second) == [], "nobody knows yet"
    hand.connect("quay-1", channels=1)
    assert hand.alarm_states(second) == ["normal"]
    assert [alarm.alarm_id for alarm in hand.pipeline.alarms()] == [CARRIER_ALARM]


def test_an_alarm_of_a_pack_ends_once_every_device_has_said_what_it_has() -> None:
    before = ready("quay-1")
    before.run(1.1, ["quay-1"], WEAK)
    flat = replace(before.pipeline.alarms()[0], alarm_id="flat:pack/k99", rule_id="flat", address="pack/k99")
    known = replace(flat, alarm_id="flat:pack/quay-1-1", address="pack/quay-1-1")
    rule = Rule("flat", Place.PACK, "battery_minutes", Side.BELOW, 10.0, 1.0, 0.0, 0.0, 2)
    hand = Hand(Pipeline(epoch=2))
    hand.give(DocumentChanged(hand.at, (rule,), 1))
    hand.give(Restored(hand.at, (), (flat, known), frozenset({"quay-1", "quay-2"})))
    hand.connect("quay-1")
    assert hand.alarm_states(flat.alarm_id) == [], "the other device may have it"
    hand.connect("quay-2")
    assert hand.alarm_states(flat.alarm_id) == ["normal"]
    assert hand.alarm_states(known.alarm_id) == []


def test_an_alarm_at_no_address_ends() -> None:
    before = ready("quay-1")
    before.run(1.1, ["quay-1"], WEAK)
    odd = replace(before.pipeline.alarms()[0], alarm_id="weak-rf:quay-1/valve/1", address="quay-1/valve/1")
    assert restored(odd, watched=frozenset({"quay-1"})).alarm_states(odd.alarm_id) == ["normal"]
