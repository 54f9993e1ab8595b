"""Guarded things stay locked until somebody unlocks them; a device that leases is written to by its holder alone."""

from __future__ import annotations

import pytest

from fleet.errors import InvalidRequest, NotFound
from fleet.model.command import CommandState
from fleet.model.device import ContactState, Lease, Unlocked
from fleet.model.event import GuardChanged, LeaseChanged, NoticeReceived
from fleet.model.inputs import LockDevice, Restored, TakeLease, UnlockDevice
from fleet.model.observation import Answer, Observation
from tests.small_fleet import START_UTC_US
from tests.state.ear_fleet import CARRIER, EAR, EarHand, ready

S = CommandState
WHY = "the Keeper hears too little"


def unlocked(minutes: int = 10) -> EarHand:
    hand = ready()
    hand.do(UnlockDevice(EAR, WHY, minutes))
    return hand


def heard(hand: EarHand, lease: Lease) -> None:
    hand.give(Observation(hand.at, EAR, lease=lease))


def test_guarded_settings_and_acts_are_locked_by_default() -> None:
    hand = ready()
    with pytest.raises(InvalidRequest, match=r"^locked: ear-1"):
        hand.write("c1", CARRIER, {"rf_power_mw": 20.0})
    with pytest.raises(InvalidRequest, match=r"^locked: ear-1"):
        hand.act("tone", CARRIER, arguments={"seconds": 2})
    assert hand.pipeline.commands() == ()
    hand.write("c2", CARRIER, {"mode": "wide"})
    assert hand.command("c2").state is S.SENT, "the ordinary ones aren't"


def test_an_unlocked_device_takes_one_guarded_thing_at_a_time() -> None:
    hand = unlocked()
    with pytest.raises(InvalidRequest, match="one setting at a time"):
        hand.write("c1", CARRIER, {"rf_power_mw": 20.0, "rf_on": False})
    with pytest.raises(InvalidRequest, match="one setting at a time"):
        hand.write("c1", CARRIER, {"rf_power_mw": 20.0, "mode": "wide"})
    hand.write("c1", CARRIER, {"rf_power_mw": 20.0})
    assert hand.command("c1").state is S.SENT


def test_who_unlocked_it_and_why_is_an_event_and_shown() -> None:
    hand = unlocked(10)
    shown = Unlocked("Engineer", WHY, START_UTC_US + 600_000_000)
    assert hand.events[-1] == GuardChanged(hand.at, EAR, shown, "Engineer")
    assert hand.pipeline.devices()[0].unlocked == shown


@pytest.mark.parametrize("minutes", [1, 10])
def test_it_locks_itself_to_the_tick(minutes: int) -> None:
    hand = unlocked(minutes)
    hand.now_s = minutes * 60 - 0.2
    hand.run(0.1)
    assert hand.pipeline.devices()[0].unlocked is not None
    hand.run(0.1)
    assert hand.pipeline.devices()[0].unlocked is None
    assert hand.events[-1] == GuardChanged(hand.at, EAR, None)
    with pytest.raises(InvalidRequest, match="locked"):
        hand.write("c1", CARRIER, {"rf_power_mw": 20.0})


def test_it_is_locked_again_by_hand_and_once_is_enough() -> None:
    hand = unlocked()
    assert hand.do(LockDevice(EAR)) == (GuardChanged(hand.at, EAR, None, "Engineer"),)
    assert hand.do(LockDevice(EAR)) == ()


@pytest.mark.parametrize("act", [UnlockDevice(EAR, " ", 5), UnlockDevice(EAR, WHY, 0), UnlockDevice(EAR, WHY, 11)])
def test_unlocking_needs_a_reason_and_ends_within_ten_minutes(act: UnlockDevice) -> None:
    hand = ready()
    with pytest.raises(InvalidRequest):
        hand.do(act)
    assert hand.pipeline.devices()[0].unlocked is None


def test_what_is_not_there_or_not_guarded_can_not_be_unlocked() -> None:
    hand = ready()
    hand.connect("quay-1")
    with pytest.raises(NotFound):
        hand.do(UnlockDevice("ear-9", WHY, 5))
    with pytest.raises(InvalidRequest, match="nothing of quay-1 is guarded"):
        hand.do(UnlockDevice("quay-1", WHY, 5))


def test_a_guarded_write_that_waited_past_the_lock_is_not_sent() -> None:
    hand = unlocked()
    hand.contact(EAR, ContactState.LATE)
    hand.write("c1", CARRIER, {"rf_power_mw": 20.0})
    hand.do(LockDevice(EAR))
    hand.heartbeat(EAR)
    assert hand.states_of("c1") == [S.REQUESTED, S.REFUSED]
    assert hand.command("c1").reason.startswith("locked: ")


def test_without_the_lease_nothing_is_written_and_the_holder_is_named() -> None:
    hand = ready()
    heard(hand, Lease(ours=False, holder="the other desk"))
    assert hand.events[-1] == LeaseChanged(hand.at, EAR, Lease(ours=False, holder="the other desk"))
    assert hand.pipeline.devices()[0].lease == Lease(ours=False, holder="the other desk")
    with pytest.raises(InvalidRequest, match="the other desk writes to it; an engineer may take the lease"):
        hand.write("c1", CARRIER, {"mode": "wide"})
    with pytest.raises(InvalidRequest, match="the other desk writes to it"):
        hand.act("identify")
    heard(hand, Lease(ours=True))
    hand.write("c1", CARRIER, {"mode": "wide"})
    assert hand.command("c1").state is S.SENT


def test_the_same_lease_again_is_no_news_and_lost_contact_ends_it() -> None:
    hand = ready()
    heard(hand, Lease(ours=True))
    count = len(hand.events)
    heard(hand, Lease(ours=True))
    assert len(hand.events) == count
    hand.contact(EAR, ContactState.LOST)
    assert LeaseChanged(hand.at, EAR, None) in hand.events[count:]
    assert hand.pipeline.devices()[0].lease is None


def test_a_lease_lost_in_the_midst_of_a_command_leaves_the_last_word_to_the_device() -> None:
    hand = ready()
    heard(hand, Lease(ours=True))
    hand.write("c1", CARRIER, {"mode": "wide"})
    hand.write("c2", CARRIER, {"mode": "narrow"})
    heard(hand, Lease(ours=False, holder="the other desk"))
    assert hand.command("c1").state is S.SENT
    hand.answer(EAR, "c1", Answer.REFUSED)
    assert hand.command("c1").state is S.REFUSED
    hand.run(1.1, ())
    hand.heartbeat(EAR)
    assert hand.command("c2").state is S.REFUSED, "what was not sent yet never goes"
    assert "the other desk" in hand.command("c2").reason


def test_who_takes_a_lease_is_journalled_and_there_must_be_one() -> None:
    hand = ready()
    with pytest.raises(InvalidRequest, match="no lease"):
        hand.do(TakeLease(EAR))
    heard(hand, Lease(ours=False, holder="the other desk"))
    assert hand.do(TakeLease(EAR)) == (
        NoticeReceived(hand.at, EAR, "lease-asked", "Engineer takes the lease of ear-1"),
    )


@pytest.mark.parametrize("by_hand", [True, False])
def test_what_is_guarded_and_waits_is_given_up_when_its_device_is_locked_again(by_hand: bool) -> None:
    hand = unlocked(1)
    hand.write("c1", CARRIER, {"rf_power_mw": 20.0})
    hand.answer(EAR, "c1", Answer.WAITING_FOR_HAND)
    hand.write("c2", EAR, {"name": "Bridge"})
    hand.answer(EAR, "c2", Answer.WAITING_FOR_HAND)
    assert hand.pipeline.cancels_due(hand.at) == ()
    if by_hand:
        hand.do(LockDevice(EAR))
    else:
        hand.now_s = 59.9
        hand.heartbeat(EAR)
        hand.run(0.2)
    assert [command.command_id for command in hand.pipeline.cancels_due(hand.at)] == ["c1"]
    assert hand.pipeline.cancels_due(hand.at) == (), "not at once again"
    assert hand.command("c1").state is S.WAITING_FOR_HAND, "until the device says that it has given it up"
    hand.now_s += 5.0
    hand.heartbeat(EAR)
    assert [command.command_id for command in hand.pipeline.cancels_due(hand.at)] == ["c1"]
    hand.answer(EAR, "c1", Answer.CANCELLED)
    hand.now_s += 5.0
    hand.heartbeat(EAR)
    assert hand.pipeline.cancels_due(hand.at) == ()


def test_a_guarded_write_does_not_outlive_a_lock_that_falls_while_it_is_sent_or_out_of_contact() -> None:
    hand = unlocked()
    hand.write("c1", CARRIER, {"rf_power_mw": 20.0})
    hand.contact(EAR, ContactState.LOST)
    hand.do(LockDevice(EAR))
    assert hand.pipeline.cancels_due(hand.at) == ()
    hand.greet()
    hand.answer(EAR, "c1", Answer.WAITING_FOR_HAND)
    assert [command.command_id for command in hand.pipeline.cancels_due(hand.at)] == ["c1"]


def test_a_restarted_console_knows_from_the_description_what_is_guarded() -> None:
    before = unlocked()
    before.write("c1", CARRIER, {"rf_power_mw": 20.0})
    before.answer(EAR, "c1", Answer.WAITING_FOR_HAND)
    hand = EarHand()
    hand.give(Restored(hand.at, commands=(before.command("c1"),), alarms=()))
    hand.greet()
    assert hand.command("c1").state is S.UNKNOWN
    assert [command.command_id for command in hand.pipeline.cancels_due(hand.at)] == ["c1"]
