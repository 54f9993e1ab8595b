from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from fleet.model.capability import problem_with
from fleet.model.settings import Cause
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal, Result
from simulator.conversation import NEWS_MAXIMUM, Conversation
from simulator.scenario_checks import load
from tests.simulator.desk import Desk
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario, two_channels


@pytest.fixture
def desk() -> Desk:
    entered = Desk(fleet_of(two_channels()), "rack-1").enter()
    entered.advance(1.0)
    return entered


def test_it_greets_and_describes_itself(desk: Desk) -> None:
    bodies = [item.body for item in desk.all(Result)]
    hello, described = bodies[0], bodies[1]
    assert isinstance(hello, messages.HelloResult)
    assert [(one.id, one.kind, one.simulated) for one in hello.devices] == [("rack-1", "receiver", True)]
    assert isinstance(described, messages.DescribeResult)
    description = described.description
    assert description.packs == ("pack/p1", "pack/p2")
    assert description.carriers[1].branches == ("rack-1/carrier/2/branch/a", "rack-1/carrier/2/branch/b")


@pytest.mark.parametrize("name", ["fixture", "tern-rock"])
def test_every_setting_has_a_capability_that_allows_its_value(name: str) -> None:
    fleet = fleet_of(load(name))
    for device_id in fleet.devices:
        one = Desk(fleet, device_id).enter()
        whole = next(item.body for item in one.all(Result) if isinstance(item.body, messages.ReadResult))
        capabilities = fleet.devices[device_id].description.capabilities
        allowed = {(target, each.field): each for each in capabilities for target in each.targets}
        told = {(entry.address, field): value for entry in whole.settings for field, value in entry.settings.items()}
        assert told.keys() == allowed.keys()
        assert [key for key, value in told.items() if problem_with(allowed[key].schema, value) is not None] == []


def test_a_first_frame_follows_at_once_with_all_exact_readings(desk: Desk) -> None:
    late = Desk(desk.fleet, "rack-1", desk.now_us).enter(interval_ms=10_000)
    first = late.all(messages.Readings)[0]
    assert first.sequence == 0
    assert set(first.exact) == {"rack-1", "rack-1/channel/1", "rack-1/channel/2", "pack/p1", "pack/p2"}


def test_frames_come_at_the_interval_without_a_gap(desk: Desk) -> None:
    desk.advance(5.0)
    frames = desk.all(messages.Readings)
    assert [frame.sequence for frame in frames] == list(range(60))
    assert [frame.device_time_us for frame in frames] == [100_000 * (number + 1) for number in range(60)]


def test_it_beats_every_second_with_a_counter_that_measures(desk: Desk) -> None:
    desk.advance(5.0)
    beats = desk.all(messages.Heartbeat)
    assert [beat.device_time_us for beat in beats] == [0, *range(1_000_000, 6_000_001, 1_000_000)]
    assert [beat.counter for beat in beats] == [0, 10, 20, 30, 40, 50, 60]


def test_a_setting_of_the_receiver_is_done_at_once(desk: Desk) -> None:
    taken = desk.write("rack-1/channel/1", "c1", trim_db=6)
    assert isinstance(taken, messages.WriteResult)
    assert taken.state == "accepted"
    (changed,) = desk.all(messages.Changed)
    assert (changed.cause, changed.command_id, changed.settings) == ("command", "c1", {"trim_db": 6.0})
    (outcome,) = desk.all(messages.Outcome)
    assert (outcome.command_id, outcome.outcome) == ("c1", "done")
    assert desk.heard.index(changed) < desk.heard.index(outcome)


def test_a_setting_of_a_pack_takes_the_return_links_time(desk: Desk) -> None:
    desk.write("pack/p1", "c1", low_cut_hz=120)
    assert desk.all(messages.Changed) == []
    desk.advance(0.3)
    assert desk.all(messages.Changed)[0].settings == {"low_cut_hz": 120}
    assert desk.fleet.world.packs[0].settings["low_cut_hz"] == 120


def test_a_repeated_command_has_the_same_answer_and_no_second_effect(desk: Desk) -> None:
    seen = desk.revision("rack-1/channel/1")
    first = desk.write("rack-1/channel/1", "c1", seen, trim_db=6)
    second = desk.write("rack-1/channel/1", "c1", seen, trim_db=6)
    assert isinstance(first, messages.WriteResult)
    assert isinstance(second, messages.WriteResult)
    assert first.state == second.state
    assert len(desk.all(messages.Changed)) == 1


@pytest.mark.parametrize(
    ("address", "changes", "code"),
    [
        ("rack-1/channel/1", {"trim_db": 19}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/channel/1", {"trim_db": 0.5}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/channel/1", {"trim_db": True}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/channel/1", {"muted": 1}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/channel/1", {"name": "x" * 65}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/carrier/1", {"frequency_hz": 520_000_001}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/carrier/1", {"frequency_hz": 520_000_000.0}, ErrorCode.OUT_OF_RANGE),
        ("pack/p1", {"rf_power_mw": 20}, ErrorCode.OUT_OF_RANGE),
        ("pack/p1", {"low_cut_hz": 120, "rf_power_mw": 20}, ErrorCode.OUT_OF_RANGE),
        ("rack-1/channel/1", {"colour": 1}, ErrorCode.UNSUPPORTED),
        ("rack-1/carrier/1/branch/a", {"attenuation_db": 3}, ErrorCode.UNSUPPORTED),
        ("pack/p9", {"low_cut_hz": 120}, ErrorCode.UNSUPPORTED),
    ],
)
def test_what_cannot_be_set_is_refused_whole(
    desk: Desk, address: str, changes: dict[str, int | float | str], code: ErrorCode
) -> None:
    before = {each: desk.settings(each) for each in ("rack-1/channel/1", "rack-1/carrier/1", "pack/p1")}
    boot = desk.fleet.devices["rack-1"].boot_id
    refusal = desk.write(address, "c1", f"{boot}.1", **changes)
    assert isinstance(refusal, Refusal)
    assert refusal.code == code
    desk.advance(1.0)
    assert {each: desk.settings(each) for each in before} == before
    assert desk.all(messages.Changed) == []


def test_an_out_of_range_refusal_names_field_and_allowed_values(desk: Desk) -> None:
    refusal = desk.write("pack/p1", "c1", rf_power_mw=20)
    assert isinstance(refusal, Refusal)
    assert refusal.data["field"] == "rf_power_mw"
    assert refusal.data["allowed"] == {"type": "number", "enum": [2.0, 10.0, 50.0], "maximum_length": 64}


def test_a_stale_revision_is_a_conflict_with_the_current_values(desk: Desk) -> None:
    seen = desk.revision("rack-1/channel/1")
    desk.write("rack-1/channel/1", "c1", trim_db=6)
    refusal = desk.write("rack-1/channel/1", "c2", seen, trim_db=3)
    assert isinstance(refusal, Refusal)
    assert refusal.code == ErrorCode.CONFLICT
    assert refusal.data["revision"] == desk.revision("rack-1/channel/1")
    assert refusal.data["settings"] == desk.settings("rack-1/channel/1")


def test_a_held_return_link_keeps_the_outcome_open_until_it_is_restored(desk: Desk) -> None:
    link = desk.fleet.world.links[0]
    link.held = True
    desk.write("pack/p1", "c1", low_cut_hz=120)
    desk.advance(30.0)
    assert desk.all(messages.Outcome) == []
    unsure = desk.read("pack/p1")
    assert isinstance(unsure, Refusal)
    assert unsure.code == ErrorCode.BUSY
    link.held = False
    desk.advance(0.2)
    assert desk.all(messages.Changed)[-1].command_id == "c1"
    assert desk.settings("pack/p1")["low_cut_hz"] == 120


def test_a_second_write_to_a_pack_comes_back_later_and_then_counts(desk: Desk) -> None:
    seen = desk.revision("pack/p1")
    desk.write("pack/p1", "c1", seen, low_cut_hz=120)
    busy = desk.write("pack/p1", "c2", seen, low_cut_hz=140)
    assert isinstance(busy, Refusal)
    assert (busy.code, busy.data["retry_after_s"]) == (ErrorCode.BUSY, 1.0)
    desk.advance(1.0)
    stale = desk.write("pack/p1", "c2", seen, low_cut_hz=140)
    assert isinstance(stale, Refusal)
    assert stale.code == ErrorCode.CONFLICT
    assert desk.settings("pack/p1")["low_cut_hz"] == 120


def test_a_pack_put_to_sleep_by_hand_declines_what_comes_too_late(desk: Desk) -> None:
    desk.fleet.devices["rack-1"].turn_panel("pack/p1", {"standby": True})
    taken = desk.write("pack/p1", "c1", low_cut_hz=120)
    assert isinstance(taken, messages.WriteResult)
    assert taken.state == "accepted"
    desk.advance(3.0)
    (outcome,) = desk.all(messages.Outcome)
    assert (outcome.outcome, outcome.reason) == ("refused", "the pack is asleep")
    assert desk.settings("pack/p1")["low_cut_hz"] == 80


def test_a_dropped_return_link_makes_the_outcome_unknown(desk: Desk) -> None:
    link = desk.fleet.world.links[0]
    link.dropped = True
    desk.write("pack/p1", "c1", low_cut_hz=120)
    desk.advance(4.0)
    assert [outcome.outcome for outcome in desk.all(messages.Outcome)] == ["unknown"]
    unreachable = desk.read("pack/p1")
    assert isinstance(unreachable, Refusal)
    assert unreachable.code == ErrorCode.UNREACHABLE
    assert (desk.last("pack/p1", "return_link") or 0.0) < 0.7
    link.dropped = False
    desk.advance(10.0)
    assert desk.settings("pack/p1")["low_cut_hz"] == 80
    assert desk.last("pack/p1", "return_link") == 1.0


def test_a_pack_beyond_the_return_links_reach_is_not_reached() -> None:
    stage = scenario(receiver_text("rack-1", channel_text("p1", walk="Far")))
    far = Desk(fleet_of(stage), "rack-1").enter()
    far.advance(2.0)
    far.write("pack/p1", "c1", low_cut_hz=120)
    far.advance(4.0)
    assert [outcome.outcome for outcome in far.all(messages.Outcome)] == ["unknown"]


def test_somebody_turns_the_panel_and_a_pack_in_the_hand(desk: Desk) -> None:
    receiver = desk.fleet.devices["rack-1"]
    receiver.turn_panel("rack-1/channel/1", {"muted": True})
    receiver.turn_panel("pack/p2", {"input_trim_db": 6})
    desk.advance(2.0)
    causes = {changed.address: (changed.cause, changed.settings) for changed in desk.all(messages.Changed)}
    assert causes == {
        "rack-1/channel/1": ("panel", {"muted": True}),
        "pack/p2": ("pack", {"input_trim_db": 6.0}),
    }


def test_all_clients_hear_the_news_and_one_may_be_gone(desk: Desk) -> None:
    other = Desk(desk.fleet, "rack-1", desk.now_us).enter()
    gone = Desk(desk.fleet, "rack-1", desk.now_us).enter()
    gone.conversation.close()
    desk.write("rack-1/channel/1", "c1", trim_db=6)
    other.advance(0.1)
    assert [changed.command_id for changed in other.all(messages.Changed)] == ["c1"]


def test_a_silent_receiver_neither_answers_nor_reports_and_comes_back_without_a_gap(desk: Desk) -> None:
    receiver = desk.fleet.devices["rack-1"]
    receiver.silent_until_us = desk.now_us + 3_000_000
    before = len(desk.wire)
    desk.advance(2.9)
    assert len(desk.wire) == before
    desk.advance(0.5)
    sequences = [frame.sequence for frame in desk.all(messages.Readings)]
    assert sequences == list(range(len(sequences)))
    assert desk.all(messages.Heartbeat)[-1].counter == 40


def test_a_reboot_ends_the_conversation_and_begins_another_boot(desk: Desk) -> None:
    receiver = desk.fleet.devices["rack-1"]
    before = receiver.boot_id
    desk.write("rack-1/channel/1", "c1", trim_db=6)
    receiver.reboot(desk.now_us)
    desk.advance(0.1)
    assert desk.conversation.closed
    again = Desk(desk.fleet, "rack-1", desk.now_us + 2_000_000).enter()
    assert receiver.boot_id != before
    assert again.revision("rack-1/channel/1") == f"{receiver.boot_id}.1"
    assert again.settings("rack-1/channel/1")["trim_db"] == 6.0


def test_sleep_takes_the_carrier_and_death_is_said(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.fleet.world.packs[1].kill_cells()
    desk.fleet.world.touch()
    desk.advance(15.0)
    for number in (1, 2):
        assert desk.exact(f"rack-1/channel/{number}", "identity") is None
        assert (desk.last(f"rack-1/carrier/{number}/branch/a", "rf_dbm") or 0.0) < -104.0
        assert desk.last(f"rack-1/channel/{number}", "audio_state") == 6  # No link.
    assert desk.last("pack/p1", "asleep") is True
    assert desk.last("pack/p1", "goodbye") == 1  # Standby.
    assert desk.last("pack/p1", "last_seen_s") == 0.0
    assert (desk.last("pack/p2", "last_seen_s") or 0.0) >= 14.0
    assert desk.last("pack/p2", "goodbye") == 3  # Cells.
    assert (desk.last("pack/p2", "battery_minutes"), desk.last("pack/p2", "switch")) == (0.0, 3)  # Off.


@pytest.mark.parametrize("fault", ["none", "dropped"])
def test_what_a_dead_pack_said_looks_old_after_two_seconds_and_its_goodbye_stays(desk: Desk, fault: str) -> None:
    """A pack whose link is lost, too, dies without a word."""
    pack, link = desk.fleet.world.packs[1], desk.fleet.world.links[1]
    link.dropped = fault == "dropped"
    pack.apply({"standby": True})
    desk.fleet.world.touch()
    desk.advance(5.0)
    pack.kill_cells()
    desk.advance(3.5)
    said, goodbye = (desk.layout.index(("pack/p2", name)) for name in ("battery_v", "goodbye"))
    last = desk.all(messages.Readings)[-1]
    assert last.qualities.get(said) == 2  # Uncertain.
    assert goodbye not in last.qualities
    assert last.values[goodbye] == (3 if fault == "none" else 0)
    assert desk.exact("pack/p2", "reported_frequency_hz") is None, "it has no quality, so it is withdrawn"
    assert desk.exact("pack/p1", "reported_frequency_hz") == 520_000_000


def test_a_command_is_another_clients_for_all_but_the_one_that_asked(desk: Desk) -> None:
    other = Desk(desk.fleet, "rack-1", desk.now_us).enter()
    desk.write("pack/p1", "c1", low_cut_hz=120)
    desk.write("rack-1/channel/1", "c2", trim_db=6.0)
    for both in (desk, other):
        both.advance(1.0)
    for who, cause in ((desk, Cause.COMMAND), (other, Cause.OTHER_CLIENT)):
        told = {change.command_id: change for change in who.all(messages.Changed)}
        assert {command_id: change.cause for command_id, change in told.items()} == {"c1": cause, "c2": cause}
        assert told["c1"].settings == {"low_cut_hz": 120}
        outcomes = {outcome.command_id for outcome in who.all(messages.Outcome)}
        assert outcomes == ({"c1", "c2"} if who is desk else set())


def test_what_an_earlier_connection_asked_for_is_another_clients(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    desk.write("pack/p1", "c1", low_cut_hz=120)
    desk.conversation.close()
    again = Desk(desk.fleet, "rack-1", desk.now_us).enter()
    again.write("pack/p1", "wake", standby=False)
    again.advance(5.0)
    causes = {change.command_id: change.cause for change in again.all(messages.Changed)}
    assert causes == {"wake": Cause.COMMAND, "c1": Cause.OTHER_CLIENT}


def test_a_hand_in_the_pack_wakes_what_waits(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    desk.write("pack/p1", "c1", muted=True)
    desk.fleet.devices["rack-1"].turn_panel("pack/p1", {"standby": False})
    desk.advance(3.0)
    assert desk.settings("pack/p1")["muted"] is True


def test_subscriptions_are_bounded_and_end(desk: Desk) -> None:
    many = Desk(desk.fleet, "rack-1", desk.now_us).enter()
    assert isinstance(many.unsubscribe(1), Result)
    assert isinstance(many.unsubscribe(1), Refusal)
    before = len(many.all(messages.Readings))
    many.advance(1.0)
    assert len(many.all(messages.Readings)) == before
    answers = [many.subscribe() for _ in range(17)]
    assert [isinstance(answer, Refusal) for answer in answers] == [False] * 16 + [True]


@pytest.mark.parametrize(
    "data",
    [b"", b"{", b"\xff\xfe", b"[]", b"null", b'{"jsonrpc":"2.0","id":9,"method":"hello"', b"[" * 100, b" " * 2_000_000],
)
def test_garbage_ends_that_conversation_alone(desk: Desk, data: bytes) -> None:
    rude = Desk(desk.fleet, "rack-1", desk.now_us).enter()
    answer = rude.conversation.receive(data, rude.now_us)
    assert rude.conversation.closed
    assert rude.conversation.reason
    assert "error" in json.loads(answer[-1])
    assert rude.conversation.advance(rude.now_us + 1_000_000) == []
    assert not desk.conversation.closed


@settings(max_examples=200)
@given(data=some.binary(max_size=200) | some.text(max_size=200))
def test_no_bytes_raise_anything(data: bytes | str) -> None:
    conversation = Conversation(_QUIET.endpoint("rack-1"))
    conversation.receive(data, 0)
    conversation.close()


_QUIET = fleet_of(two_channels())


def test_a_client_that_lets_news_pile_up_is_dropped(desk: Desk) -> None:
    receiver = desk.fleet.devices["rack-1"]
    for number in range(NEWS_MAXIMUM + 1):
        receiver.turn_panel("rack-1/channel/1", {"muted": number % 2 == 0})
    assert desk.conversation.closed
    assert "wait" in desk.conversation.reason


def test_unknown_settings_of_three_kinds_can_be_set() -> None:
    desk = Desk(fleet_of(load("fixture")), "fixture-1").enter()
    for address, changes in (
        ("fixture-1", {"fan_speed_percent": 60}),
        ("fixture-1", {"lamp_ring": False}),
        ("fixture-1/channel/1", {"voicing": "warm"}),
    ):
        taken = desk.write(address, f"set-{next(iter(changes))}", **changes)
        assert isinstance(taken, messages.WriteResult)
        assert desk.settings(address) | changes == desk.settings(address)
    refusal = desk.write("fixture-1/channel/1", "wrong", voicing="loud")
    assert isinstance(refusal, Refusal)
    assert refusal.code == ErrorCode.OUT_OF_RANGE
