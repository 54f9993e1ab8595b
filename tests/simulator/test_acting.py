from __future__ import annotations

import numpy as np
import pytest

from fleet.model.fields import AUDIO_STATES
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import desk_of, outcomes, throw


def test_a_scan_brings_the_levels_of_what_is_on_the_air(sink: VirtualFleet) -> None:
    """By hand: 10 mW ERP is 12.15 dBm, a body at most 22; the packs are heard at their carrier, nothing beside."""
    desk = desk_of(sink, "sink-scan-1")
    asked = {"start_hz": 500_000_000, "stop_hz": 504_000_000, "step_hz": 25_000, "bandwidth_hz": 25_000}
    assert isinstance(desk.act("sink-scan-1", "c1", "scan", **asked), messages.ActResult)
    busy = desk.act("sink-scan-1", "c2", "scan", **asked)
    assert isinstance(busy, Refusal)
    assert busy.code == ErrorCode.BUSY
    desk.advance(2.0)
    assert outcomes(desk) == {"c1": "done"}
    shares = [each.fraction for each in desk.all(messages.Progress)]
    assert shares == sorted(share for share in shares if share is not None)
    found = {
        stretch.start_hz + index * stretch.step_hz: level
        for each in desk.all(messages.Progress)
        if (stretch := each.levels) is not None
        for index, level in enumerate(stretch.levels_dbm)
    }
    assert len(found) == 161
    assert (found[502_000_000] or -200.0) > -60.0
    assert (found[501_000_000] or 0.0) == pytest.approx(-105.0 + 10.0 * np.log10(25 / 200), abs=0.1)


def test_a_scan_is_given_up_and_a_receiver_hears_nobody_meanwhile(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    offer = next(one for one in sink.device("sink-wide-1").description.acts if one.act == "scan")
    assert offer.mutes_for_ms > 0
    asked = {"start_hz": 470_000_000, "stop_hz": 694_000_000, "step_hz": 100_000}
    desk.act("sink-wide-1/carrier/1", "c1", "scan", **asked)
    desk.advance(1.5)
    assert desk.last("sink-wide-1/carrier/1", "link_quality") == 0.0
    assert desk.cancel("sink-wide-1/carrier/1", "c1")
    desk.advance(2.0)
    assert outcomes(desk) == {"c1": "cancelled"}
    assert desk.last("sink-wide-1/carrier/1", "link_quality") == 1.0


def test_a_link_waits_for_a_hand_and_brings_the_key_along(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    channel = "sink-wide-1/channel/1"
    made = desk.act(channel, "c1", "make_key")
    assert isinstance(made, messages.ActResult)
    desk.advance(2.0)
    (outcome,) = desk.all(messages.Outcome)
    fingerprint = outcome.result["key_fingerprint"]
    assert desk.exact(channel, "key_fingerprint") == fingerprint != desk.exact("pack/s01", "key_fingerprint")
    assert desk.last(channel, "audio_state") == AUDIO_STATES.index("no_key")
    linking = desk.act(channel, "c2", "link", medium="infrared")
    assert isinstance(linking, messages.ActResult)
    assert linking.state == "waiting for a hand"
    desk.advance(20.0)
    assert "window" in desk.all(messages.Progress)[-1].words
    assert "c2" not in outcomes(desk)
    throw(desk, "hand", address=channel)
    desk.advance(5.0)
    assert desk.all(messages.Outcome)[-1].result == {"identity": "pack/s01"}
    assert desk.exact("pack/s01", "key_fingerprint") == fingerprint
    assert desk.last(channel, "audio_state") == AUDIO_STATES.index("open")


def test_keys_go_in_and_never_come_out(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    secret = "tern-egg-lantern-rope"
    for number, address in enumerate(("sink-wide-1/channel/1", "pack/s01")):
        desk.act(address, f"c{number}", "set_key", key=secret)
    desk.advance(3.0)
    assert desk.exact("sink-wide-1/channel/1", "key_fingerprint") == desk.exact("pack/s01", "key_fingerprint")
    assert secret.encode() not in b"".join(desk.wire)
    desk.act("sink-wide-1/channel/1", "c9", "erase_key")
    desk.advance(2.0)
    assert desk.exact("sink-wide-1/channel/1", "key_fingerprint") is None
    assert desk.last("sink-wide-1/channel/1", "audio_state") == AUDIO_STATES.index("no_key")


def test_a_tone_sounds_for_its_time_and_no_louder_than_the_device_allows(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    channel = "sink-wide-1/channel/4"  # A spare, which says nothing.
    loud = desk.act(channel, "c1", "tone", level_dbfs=0.0)
    assert isinstance(loud, Refusal)
    assert loud.code == ErrorCode.OUT_OF_RANGE
    desk.act(channel, "c2", "tone", seconds=2, level_dbfs=-24.0)
    desk.advance(1.0)
    assert desk.last(channel, "rms_dbfs") == -24.0
    desk.advance(2.0)
    assert (desk.last(channel, "rms_dbfs") or 0.0) < -60.0
    assert outcomes(desk) == {"c2": "done"}


def test_an_act_at_a_sleeping_pack_waits_until_it_wakes(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    desk.write("pack/s02", "c1", standby=True)
    desk.advance(2.0)
    waiting = desk.act("pack/s02", "c2", "identify", seconds=1)
    assert isinstance(waiting, messages.ActResult)
    assert waiting.state == "waiting for wake"
    desk.advance(5.0)
    assert "c2" not in outcomes(desk)
    desk.write("pack/s02", "c3", standby=False)
    desk.advance(5.0)
    assert outcomes(desk)["c2"] == "done"


@pytest.mark.parametrize(
    ("act", "arguments", "code"),
    [
        ("dance", {}, ErrorCode.UNSUPPORTED),
        ("identify", {"colour": "red"}, ErrorCode.OUT_OF_RANGE),
        ("scan", {"start_hz": 500_000_000, "stop_hz": 504_000_000}, ErrorCode.OUT_OF_RANGE),
        ("scan", {"start_hz": 504_000_000, "stop_hz": 500_000_000, "step_hz": 25_000}, ErrorCode.OUT_OF_RANGE),
        ("scan", {"start_hz": 470_000_000, "stop_hz": 694_000_000, "step_hz": 1_000}, ErrorCode.OUT_OF_RANGE),
    ],
)
def test_what_is_not_offered_or_not_sensible_is_refused(
    sink: VirtualFleet, act: str, arguments: dict[str, int], code: ErrorCode
) -> None:
    desk = desk_of(sink, "sink-scan-1")
    refused = desk.act("sink-scan-1", "c1", act, **arguments)
    assert isinstance(refused, Refusal)
    assert refused.code == code


def test_a_repeated_act_has_the_same_answer_no_second_effect_and_its_outcome_once_more(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    desk.act("sink-wide-1/channel/1", "c1", "make_key")
    desk.advance(2.0)
    again = desk.act("sink-wide-1/channel/1", "c1", "make_key")
    assert isinstance(again, messages.ActResult)
    desk.advance(2.0)
    first, second = desk.all(messages.Outcome)
    assert first == second
    assert desk.exact("sink-wide-1/channel/1", "key_fingerprint") == first.result["key_fingerprint"]


def test_a_device_by_itself_restarts_once_it_has_said_so(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-scan-1")
    boot = sink.device("sink-scan-1").boot_id
    desk.act("sink-scan-1", "c1", "restart")
    desk.advance(0.5)
    assert outcomes(desk) == {"c1": "done"}
    assert desk.conversation.closed
    assert sink.device("sink-scan-1").boot_id != boot
