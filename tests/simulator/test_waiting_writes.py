"""Writes that wait for a sleeping pack: what is said of them meanwhile, and what becomes of them."""

from __future__ import annotations

import pytest

from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal, Result
from tests.simulator.desk import Desk
from tests.simulator.small_stage import fleet_of, two_channels


@pytest.fixture
def desk() -> Desk:
    entered = Desk(fleet_of(two_channels()), "rack-1").enter()
    entered.advance(1.0)
    return entered


def test_a_write_waits_for_a_sleeping_pack_and_is_done_when_it_wakes(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    taken = desk.write("pack/p1", "c1", low_cut_hz=120)
    assert isinstance(taken, messages.WriteResult)
    assert taken.state == "waiting for wake"
    desk.advance(10.0)
    unsure = desk.read("pack/p1")
    assert isinstance(unsure, Refusal), "nobody can vouch for a pack that something waits for"
    assert unsure.code == ErrorCode.BUSY
    desk.write("pack/p1", "wake", standby=False)
    desk.advance(5.0)
    assert desk.settings("pack/p1")["low_cut_hz"] == 120
    outcomes = {outcome.command_id: outcome.outcome for outcome in desk.all(messages.Outcome)}
    assert outcomes == {"sleep": "done", "wake": "done", "c1": "done"}


def test_a_waiting_write_can_be_cancelled_and_a_done_one_cannot(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    desk.write("pack/p1", "c1", low_cut_hz=120)
    assert desk.cancel("pack/p1", "c1")
    assert not desk.cancel("pack/p1", "c1")
    assert not desk.cancel("pack/p1", "sleep")
    assert desk.all(messages.Outcome)[-1].outcome == "cancelled"
    desk.write("pack/p1", "wake", standby=False)
    desk.advance(5.0)
    assert desk.settings("pack/p1")["low_cut_hz"] == 80


def test_waiting_writes_are_bounded(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    for number in range(65):
        desk.write("pack/p1", f"c{number}", low_cut_hz=120)
    desk.advance(0.1)
    ended = {outcome.command_id: outcome.outcome for outcome in desk.all(messages.Outcome)}
    assert ended == {"sleep": "done", **{f"c{number}": "cancelled" for number in range(64)}}, "the newest alone waits"


def test_waiting_writes_of_different_settings_are_bounded(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simulator.pack_control.WAITING_MAXIMUM", 1)
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    assert isinstance(desk.write("pack/p1", "c1", low_cut_hz=120), messages.WriteResult)
    refusal = desk.write("pack/p1", "c2", muted=True)
    assert isinstance(refusal, Refusal)
    assert (refusal.code, refusal.data["retry_after_s"]) == (ErrorCode.BUSY, 1.0)


def test_what_was_turned_at_the_pack_meanwhile_is_not_overwritten(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    desk.write("pack/p1", "c1", low_cut_hz=120)
    desk.fleet.devices["rack-1"].turn_panel("pack/p1", {"standby": False, "low_cut_hz": 100})
    desk.advance(5.0)
    assert desk.settings("pack/p1")["low_cut_hz"] == 100
    assert desk.all(messages.Outcome)[-1].outcome == "refused"


def test_a_whole_read_says_which_settings_it_cannot_vouch_for(desk: Desk) -> None:
    desk.write("pack/p1", "sleep", standby=True)
    desk.advance(2.0)
    desk.write("pack/p1", "c1", low_cut_hz=120)
    answer = desk.read("rack-1")
    assert isinstance(answer, Result)
    assert isinstance(answer.body, messages.ReadResult)
    assert {entry.address for entry in answer.body.settings if entry.quality == 2} == {"pack/p1"}


def test_what_only_waits_may_be_written_over_at_any_rate_and_what_is_carried_out_may_not(desk: Desk) -> None:
    desk.write("pack/p1", "c1", low_cut_hz=120)
    desk.advance(0.4)
    early = desk.write("pack/p1", "c2", low_cut_hz=100, muted=True)
    assert isinstance(early, Refusal)
    assert (early.code, early.data["retry_after_s"]) == (ErrorCode.BUSY, 0.6)
    assert desk.settings("pack/p1")["muted"] is False, "nothing of it was done"
    assert isinstance(desk.write("pack/p1", "c3", muted=True), messages.WriteResult), "another setting"
    desk.advance(0.6)
    assert isinstance(desk.write("pack/p1", "c2", low_cut_hz=100), messages.WriteResult), "who came back is welcome"
    desk.write("pack/p2", "sleep", standby=True)
    desk.advance(2.0)
    for number in range(3):
        assert isinstance(desk.write("pack/p2", f"w{number}", low_cut_hz=100), messages.WriteResult)


def test_a_receivers_own_settings_keep_their_rate_too(desk: Desk) -> None:
    assert isinstance(desk.write("rack-1/channel/1", "c1", trim_db=3.0), messages.WriteResult)
    assert isinstance(desk.write("rack-1/channel/1", "c2", trim_db=6.0), Refusal)
    assert isinstance(desk.write("rack-1/channel/2", "c3", trim_db=6.0), messages.WriteResult), "another channel"
    desk.advance(1.0)
    assert isinstance(desk.write("rack-1/channel/1", "c4", trim_db=6.0), messages.WriteResult)
