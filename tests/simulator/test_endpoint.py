from __future__ import annotations

from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Rebooted, Refusal
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import BEHIND, GATEWAY, desk_of, outcomes, throw


def test_a_gateway_speaks_for_its_devices_and_one_may_freeze_alone(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-behind-1")
    hello = desk.all(messages.Heartbeat)[0]
    assert hello.target == ""
    desk.advance(3.0)
    assert {beat.target for beat in desk.all(messages.Heartbeat)} == {"", *BEHIND}
    throw(desk, "silence", device_id="sink-behind-1", seconds=10.0)
    before = len(desk.all(messages.Heartbeat)), len(desk.all(messages.Readings))
    desk.advance(5.0)
    later = desk.all(messages.Heartbeat)[before[0] :]
    assert {beat.target for beat in later} == {"", "sink-behind-2"}
    assert len(desk.all(messages.Readings)) == before[1]
    refused = desk.read("sink-behind-1")
    assert isinstance(refused, Refusal)
    assert refused.code == ErrorCode.UNREACHABLE


def test_a_restart_behind_a_gateway_is_another_boot_and_the_conversation_goes_on(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-behind-1")
    desk.act("sink-behind-1", "c1", "restart")
    desk.advance(5.0)
    assert outcomes(desk) == {"c1": "done"}
    (reboot,) = desk.all(Rebooted)
    assert reboot.target == "sink-behind-1"
    assert not desk.conversation.closed
    frames = len(desk.all(messages.Readings))
    desk.subscribe()
    desk.advance(1.0)
    assert len(desk.all(messages.Readings)) > frames


def test_a_silent_gateway_is_silent_for_all(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-behind-2")
    throw(desk, "silence", device_id=GATEWAY, seconds=2.0)
    before = len(desk.wire)
    desk.advance(1.9)
    assert len(desk.wire) == before
    desk.advance(1.0)
    assert len(desk.wire) > before


def test_a_frozen_device_behind_a_gateway_says_nothing_of_what_happens_meanwhile(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-behind-1")
    throw(desk, "silence", device_id="sink-behind-1", seconds=5.0)
    before = len(desk.all(messages.Changed))
    throw(desk, "turn_panel", address="pack/s41", changes={"low_cut_hz": 120})
    desk.advance(4.0)
    assert len(desk.all(messages.Changed)) == before
    desk.advance(3.0)
    assert desk.all(messages.Changed)[-1].settings == {"low_cut_hz": 120}
