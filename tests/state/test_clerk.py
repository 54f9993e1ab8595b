from __future__ import annotations

import pytest

from fleet.errors import InvalidRequest, NotFound, RevisionMissing, RevisionStale, ValueRefused
from fleet.model.command import CommandState, FieldOutcome
from fleet.model.device import ContactState
from fleet.model.event import CommandChanged, NoticeReceived, SettingsChanged
from fleet.model.inputs import CancelCommand, CloseUnknown, OperatorAction, RequestWrite, Restored, Tick
from fleet.model.observation import Answer, Contact
from fleet.model.quality import Quality
from fleet.model.settings import Cause
from fleet.pipeline import Pipeline
from tests.small_fleet import PACK_SETTINGS, Hand, moment

S = CommandState
PACK = "pack/quay-1-1"
CARRIER = "quay-1/carrier/1"
ASKED = {"low_cut_hz": 100}


def ready() -> Hand:
    hand = Hand()
    hand.produce("quay-1", "quay-2")
    for device_id in ("quay-1", "quay-2"):
        hand.connect(device_id)
        hand.report(device_id, f"{device_id}/carrier/1", {"frequency_hz": 500_000_000}, complete=True)
    hand.run(1.0, ["quay-1", "quay-2"])
    return hand


def confirm(hand: Hand, command_id: str, low_cut_hz: int = 100) -> None:
    hand.report("quay-1", PACK, {"low_cut_hz": low_cut_hz}, cause=Cause.COMMAND, command_id=command_id)


def test_a_done_without_report_is_read_and_then_confirmed() -> None:
    hand = ready()
    hand.write("c1", PACK, {"low_cut_hz": 80})
    hand.answer("quay-1", "c1", Answer.DONE)
    assert hand.states_of("c1") == [S.REQUESTED, S.SENT, S.ACCEPTED]
    assert hand.pipeline.read_backs_due(hand.at) == ()
    hand.run(0.3)
    assert hand.pipeline.read_backs_due(hand.at) == (PACK,)
    assert hand.pipeline.read_backs_due(hand.at) == ()
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.CONFIRMED


def test_a_report_for_another_command_or_cause_confirms_nothing() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.report("quay-1", PACK, ASKED, cause=Cause.PANEL)
    hand.report("quay-1", PACK, {"low_cut_hz": 90}, cause=Cause.COMMAND, command_id="c1")
    assert hand.command("c1").state is S.SENT


def test_a_report_of_half_the_values_does_not_confirm() -> None:
    hand = ready()
    hand.write("c1", PACK, {"low_cut_hz": 100, "rf_power_mw": 50.0})
    confirm(hand, "c1")
    assert hand.command("c1").state is S.SENT
    hand.report("quay-1", PACK, {"rf_power_mw": 50.0}, cause=Cause.COMMAND, command_id="c1")
    assert hand.command("c1").state is S.CONFIRMED


def test_no_answer_in_two_seconds_is_unknown_and_reading_back_settles_it() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(1.9, ["quay-1"])
    assert hand.command("c1").state is S.SENT
    hand.run(0.1, ["quay-1"])
    assert hand.command("c1").state is S.UNKNOWN
    assert hand.pipeline.settings(PACK).desired[0].value == 100
    assert hand.pipeline.read_backs_due(hand.at) == (PACK,)
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.NOT_APPLIED
    assert hand.command("c1").reason == "read again: low_cut_hz is 80"
    assert hand.pipeline.settings(PACK).desired == ()


def test_an_accepted_command_is_unknown_five_seconds_after_it_was_sent() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(1.0, ["quay-1"])
    hand.answer("quay-1", "c1", Answer.ACCEPTED)
    hand.run(3.9, ["quay-1"])
    assert hand.command("c1").state is S.ACCEPTED
    hand.run(0.1, ["quay-1"])
    assert hand.command("c1").state is S.UNKNOWN
    hand.read_back("quay-1", PACK, {**PACK_SETTINGS, "low_cut_hz": 100})
    assert hand.command("c1").state is S.CONFIRMED


def test_what_a_receiver_remembers_of_a_pack_out_of_reach_settles_nothing() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(2.0, ["quay-1"], {"return_link": 0.5})
    for remembered in (PACK_SETTINGS, {**PACK_SETTINGS, "low_cut_hz": 100}):
        hand.read_back("quay-1", PACK, remembered)
        assert hand.command("c1").state is S.UNKNOWN
    confirm(hand, "c1")
    assert hand.command("c1").state is S.CONFIRMED


@pytest.mark.parametrize("low_cut_hz", [80, 100])
def test_what_a_device_will_not_vouch_for_settles_nothing_and_looks_uncertain(low_cut_hz: int) -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(2.5, ["quay-1"])
    hand.read_back("quay-1", PACK, {**PACK_SETTINGS, "low_cut_hz": low_cut_hz}, Quality.UNCERTAIN)
    assert hand.command("c1").state is S.UNKNOWN
    assert hand.pipeline.settings(PACK).quality is Quality.UNCERTAIN
    hand.read_back("quay-1", PACK, {**PACK_SETTINGS, "low_cut_hz": low_cut_hz})
    assert hand.command("c1").state is (S.CONFIRMED if low_cut_hz == 100 else S.NOT_APPLIED)
    assert hand.pipeline.settings(PACK).quality is Quality.GOOD


def test_without_any_word_of_the_return_link_ten_seconds_must_pass() -> None:
    hand = Hand()
    hand.connect("quay-1")
    hand.write("c1", PACK, ASKED)
    hand.run(2.0)
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.UNKNOWN
    hand.run(8.0)
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.NOT_APPLIED


def test_unknown_is_read_again_every_five_seconds_and_after_each_reconnect() -> None:
    hand = ready()
    hand.write("c1", CARRIER, {"frequency_hz": 510_000_000})
    hand.run(2.0, ["quay-1"])
    assert hand.pipeline.read_backs_due(hand.at) == (CARRIER,)
    hand.run(4.9, ["quay-1"])
    assert hand.pipeline.read_backs_due(hand.at) == ()
    hand.run(0.1, ["quay-1"])
    assert hand.pipeline.read_backs_due(hand.at) == (CARRIER,)
    hand.contact("quay-1", ContactState.LOST)
    assert hand.pipeline.read_backs_due(hand.at) == ()
    hand.connect("quay-1")
    assert hand.pipeline.read_backs_due(hand.at) == (CARRIER,)
    assert hand.states_of("c1") == [S.REQUESTED, S.SENT, S.UNKNOWN]


def test_a_reconnect_applies_nothing_again() -> None:
    hand = ready()
    hand.write("c1", CARRIER, {"frequency_hz": 510_000_000})
    hand.contact("quay-1", ContactState.LOST)
    hand.run(3.0)
    hand.connect("quay-1", "b2")
    hand.run(3.0, ["quay-1"])
    assert hand.states_of("c1").count(S.SENT) == 1


def test_commands_on_one_target_go_one_after_the_other_and_take_the_new_revision() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.write("c2", PACK, {"rf_power_mw": 50.0})
    hand.write("other", "pack/quay-1-2", ASKED)
    assert hand.command("c2").state is S.REQUESTED
    assert hand.command("other").state is S.SENT
    before = hand.command("c2").revision
    confirm(hand, "c1")
    assert hand.command("c2").state is S.SENT
    assert hand.command("c2").revision == hand.pipeline.settings(PACK).revision != before


def test_a_command_whose_fields_changed_before_it_went_is_refused() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.write("c2", PACK, {"rf_power_mw": 50.0})
    hand.report("quay-1", PACK, {"rf_power_mw": 2.0}, cause=Cause.PANEL)
    confirm(hand, "c1")
    assert hand.states_of("c2") == [S.REQUESTED, S.REFUSED]


def test_a_newer_write_of_the_same_fields_supersedes_one_that_was_not_sent() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.write("c2", PACK, {"low_cut_hz": 110})
    hand.write("c3", PACK, {"low_cut_hz": 120})
    assert hand.command("c2").state is S.SUPERSEDED
    assert hand.command("c1").state is S.SENT
    assert hand.command("c3").state is S.REQUESTED


def test_what_can_not_be_sent_in_two_seconds_expires() -> None:
    hand = ready()
    hand.contact("quay-1", ContactState.LOST)
    hand.write("c1", PACK, ASKED)
    hand.run(1.9)
    assert hand.command("c1").state is S.REQUESTED
    hand.run(0.1)
    assert hand.states_of("c1") == [S.REQUESTED, S.EXPIRED]


def test_a_command_waits_for_the_settings_of_a_new_connection() -> None:
    hand = ready()
    hand.contact("quay-1", ContactState.LOST)
    hand.write("c1", PACK, ASKED)
    description = hand.pipeline.devices()[0].description
    hand.give(Contact(hand.at, "quay-1", ContactState.FRESH, boot_id="b1", description=description))
    assert hand.command("c1").state is S.REQUESTED
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.SENT


def test_a_write_that_saw_another_boot_is_not_sent_even_if_the_values_are_the_same() -> None:
    hand = ready()
    hand.contact("quay-1", ContactState.LOST)
    hand.write("c1", PACK, ASKED)
    hand.connect("quay-1", "b2")
    assert hand.states_of("c1") == [S.REQUESTED, S.REFUSED]


def test_a_sleeping_pack_keeps_a_write_until_it_wakes() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.answer("quay-1", "c1", Answer.WAITING_FOR_WAKE)
    hand.write("wake", PACK, {"standby": False})
    assert hand.command("wake").state is S.SENT
    hand.now_s += 3_600.0
    hand.run(1.0, ["quay-1"])
    assert hand.command("c1").state is S.WAITING_FOR_WAKE
    confirm(hand, "c1")
    assert hand.command("c1").state is S.CONFIRMED


def test_waiting_survives_a_reconnect_and_not_a_reboot() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.write("c2", "pack/quay-1-2", ASKED)
    for command_id in ("c1", "c2"):
        hand.answer("quay-1", command_id, Answer.WAITING_FOR_WAKE)
    hand.contact("quay-1", ContactState.LOST)
    hand.run(1.0)
    description = hand.pipeline.devices()[0].description
    hand.give(Contact(hand.at, "quay-1", ContactState.FRESH, boot_id="b1", description=description))
    hand.read_back("quay-1", PACK, {**PACK_SETTINGS, "low_cut_hz": 100}, Quality.UNCERTAIN)
    assert hand.command("c1").state is S.WAITING_FOR_WAKE, "a receiver's memory confirms nothing"
    hand.run(1.0, ["quay-1"])
    assert set(hand.pipeline.read_backs_due(hand.at)) == {PACK, "pack/quay-1-2"}
    hand.read_back("quay-1", PACK, {**PACK_SETTINGS, "low_cut_hz": 100})
    hand.read_back("quay-1", "pack/quay-1-2", PACK_SETTINGS)
    assert hand.command("c1").state is S.CONFIRMED
    assert hand.command("c2").state is S.WAITING_FOR_WAKE
    hand.run(6.0, ["quay-1"])
    assert hand.pipeline.read_backs_due(hand.at) == (), "what was read for certain needs no second look"
    hand.connect("quay-1", "b2")
    assert hand.command("c2").state is S.UNKNOWN


def test_answers_end_a_command_and_say_why() -> None:
    hand = ready()
    hand.write("c1", PACK, {"low_cut_hz": 100, "rf_power_mw": 50.0})
    hand.answer("quay-1", "c1", Answer.PARTLY_DONE, {"rf_power_mw": "locked"})
    assert hand.command("c1").state is S.PARTLY_DONE
    assert hand.command("c1").outcomes == (
        FieldOutcome("low_cut_hz", True, ""),
        FieldOutcome("rf_power_mw", False, "locked"),
    )
    hand.run(1.0, ["quay-1"])
    hand.write("c2", PACK, ASKED)
    hand.answer("quay-1", "c2", Answer.REFUSED)
    assert hand.command("c2").state is S.REFUSED
    hand.answer("quay-1", "c2", Answer.DONE)
    assert hand.command("c2").state is S.REFUSED


def test_another_device_can_not_answer() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    assert hand.answer("quay-2", "c1", Answer.REFUSED) == ()
    assert hand.report("quay-2", PACK, ASKED, cause=Cause.COMMAND, command_id="c1")[0].kind == "notice received"
    assert hand.command("c1").state is S.SENT


def test_a_repeated_id_does_nothing_and_one_used_otherwise_is_refused() -> None:
    hand = ready()
    seen = hand.pipeline.settings(PACK).revision
    hand.write("c1", PACK, ASKED, seen)
    assert hand.write("c1", PACK, ASKED, seen) == ()
    confirm(hand, "c1")
    assert hand.write("c1", PACK, ASKED, seen) == ()
    with pytest.raises(InvalidRequest, match="used for something else"):
        hand.write("c1", PACK, {"low_cut_hz": 120})
    hand.now_s += 598.0
    hand.tick()
    assert hand.pipeline.command("c1") is not None
    hand.now_s += 3.0
    hand.tick()
    assert hand.pipeline.command("c1") is None


@pytest.mark.parametrize(
    ("target", "changes", "revision", "error"),
    [
        ("pack/none", {"low_cut_hz": 100}, "b1.1", NotFound),
        ("nonsense//", {"low_cut_hz": 100}, "b1.1", NotFound),
        (PACK, {}, "b1.1", InvalidRequest),
        (PACK, {"low_cut_hz": 100}, "", RevisionMissing),
        (PACK, {"low_cut_hz": 100}, "b1.9", RevisionStale),
        (PACK, {"low_cut_hz": 105}, "b1.1", ValueRefused),
        (PACK, {"low_cut_hz": 170}, "b1.1", ValueRefused),
        (PACK, {"low_cut_hz": True}, "b1.1", ValueRefused),
        (PACK, {"rf_power_mw": 20.0}, "b1.1", ValueRefused),
        (PACK, {"name": "two"}, "b1.1", ValueRefused),
        (PACK, {"colour": "red"}, "b1.1", ValueRefused),
        (PACK, {"low_cut_hz": 100, "rf_power_mw": 20.0}, "b1.1", ValueRefused),
    ],
)
def test_a_bad_request_changes_nothing(
    target: str, changes: dict[str, bool | int | float | str], revision: str, error: type[Exception]
) -> None:
    hand = ready()
    count = len(hand.events)
    with pytest.raises(error):
        hand.give(OperatorAction(hand.at, "engineer", RequestWrite("c1", target, changes, revision)))
    assert len(hand.events) == count
    assert hand.pipeline.commands() == ()
    assert hand.pipeline.settings(PACK).desired == ()


def test_refusals_say_what_is_allowed_and_what_is_current() -> None:
    hand = ready()
    with pytest.raises(ValueRefused) as refused:
        hand.write("c1", PACK, {"low_cut_hz": 105})
    assert refused.value.allowed == {"type": "integer", "minimum": 0, "maximum": 160, "multipleOf": 10}
    with pytest.raises(RevisionStale) as stale:
        hand.write("c1", PACK, ASKED, "b1.0")
    assert (stale.value.current, stale.value.values["low_cut_hz"]) == ("b1.1", 80)


def test_cancel_and_close() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.write("c2", PACK, {"rf_power_mw": 50.0})
    hand.give(OperatorAction(hand.at, "engineer", CancelCommand("c2")))
    assert hand.command("c2").state is S.CANCELLED
    asked = hand.give(OperatorAction(hand.at, "engineer", CancelCommand("c1")))
    assert asked == (NoticeReceived(hand.at, "quay-1", "cancel-asked", "engineer asks to give up c1"),)
    with pytest.raises(InvalidRequest, match="only an unknown outcome"):
        hand.give(OperatorAction(hand.at, "engineer", CloseUnknown("c1", "seen at the pack")))
    hand.run(2.0, ["quay-1"])
    with pytest.raises(InvalidRequest, match="can be closed"):
        hand.give(OperatorAction(hand.at, "engineer", CancelCommand("c1")))
    with pytest.raises(InvalidRequest, match="reason"):
        hand.give(OperatorAction(hand.at, "engineer", CloseUnknown("c1", " ")))
    hand.give(OperatorAction(hand.at, "engineer", CloseUnknown("c1", "seen at the pack")))
    assert (hand.command("c1").state, hand.command("c1").reason) == (S.CLOSED, "closed by engineer: seen at the pack")
    with pytest.raises(NotFound):
        hand.give(OperatorAction(hand.at, "engineer", CancelCommand("nobody")))


def test_after_a_restart_what_was_sent_is_unknown_and_the_rest_expired() -> None:
    before = ready()
    before.write("sent", PACK, ASKED)
    before.write("queued", PACK, {"rf_power_mw": 50.0})
    before.write("waiting", "pack/quay-1-2", ASKED)
    before.answer("quay-1", "waiting", Answer.WAITING_FOR_WAKE)
    before.write("unknown", CARRIER, {"frequency_hz": 510_000_000})
    before.answer("quay-1", "unknown", Answer.UNKNOWN)
    hand = Hand(Pipeline(epoch=2))
    events = hand.give(Restored(moment(0.0), before.pipeline.commands(), ()))
    told = {event.command.command_id: event.command.state for event in events if isinstance(event, CommandChanged)}
    assert told == {"sent": S.UNKNOWN, "queued": S.EXPIRED, "waiting": S.UNKNOWN}
    assert hand.command("unknown").state is S.UNKNOWN
    hand.connect("quay-1")
    assert set(hand.pipeline.read_backs_due(hand.at)) == {PACK, "pack/quay-1-2", CARRIER}


def test_a_tick_lets_a_deadline_take_effect_at_its_moment_and_not_before() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    deadline_us = hand.command("c1").deadline_monotonic_us
    assert deadline_us == hand.at.monotonic_us + 2_000_000
    assert hand.give(Tick(hand.at.later(1.999_999))) == ()
    (event,) = hand.give(Tick(hand.at.later(2.0)))
    assert isinstance(event, CommandChanged)
    assert event.command.state is S.UNKNOWN


def test_an_unrecorded_command_stays_marked() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.pipeline.mark_unrecorded("c1")
    confirm(hand, "c1")
    assert hand.command("c1").unrecorded


def test_settings_changed_tells_what_was_before() -> None:
    hand = ready()
    (event,) = hand.report("quay-1", PACK, {"low_cut_hz": 90, "name": "one"})
    assert isinstance(event, SettingsChanged)
    assert (event.settings, event.before, event.cause) == ({"low_cut_hz": 90}, {"low_cut_hz": 80}, Cause.PANEL)
    assert hand.report("quay-1", PACK, {"low_cut_hz": 90}) == ()
    assert {view.address for view in hand.pipeline.settings_changes()} >= {PACK}
    assert hand.pipeline.settings_changes() == ()
