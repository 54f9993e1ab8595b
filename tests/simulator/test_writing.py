from __future__ import annotations

import json

from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal
from simulator.exercise import ExerciseServer
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import desk_of, outcomes, throw


def test_a_write_of_two_fields_may_be_done_by_half_and_says_so(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    desk.write("sink-wide-1/output/1", "c1", level_db=-4.0, delay_ms=10.0)
    (outcome,) = desk.all(messages.Outcome)
    assert (outcome.outcome, set(outcome.refused_fields)) == ("partly done", {"delay_ms"})
    assert desk.settings("sink-wide-1/output/1")["level_db"] == -4.0
    assert desk.settings("sink-wide-1/output/1")["delay_ms"] == 0.0
    desk.advance(1.0)
    desk.write("sink-wide-1/output/2", "c2", delay_ms=10.0)
    assert outcomes(desk)["c2"] == "refused"


def test_outputs_share_the_devices_revision_and_branches_the_carriers(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    one, other = desk.revision("sink-wide-1"), desk.revision("sink-wide-1/carrier/1")
    desk.write("sink-wide-1/output/1", "c1", level_db=-4.0)
    desk.write("sink-wide-1/carrier/1/branch/c", "c2", attenuation_db=6.0)
    assert desk.revision("sink-wide-1") == desk.revision("sink-wide-1/output/2") != one
    assert desk.revision("sink-wide-1/carrier/1") == desk.revision("sink-wide-1/carrier/1/branch/a") != other


def test_a_pack_without_a_return_link_waits_for_a_hand(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-single-1")
    taken = desk.write("pack/s11", "c1", low_cut_hz=120)
    assert isinstance(taken, messages.WriteResult)
    assert taken.state == "waiting for a hand"
    desk.advance(30.0)
    assert outcomes(desk) == {}
    assert throw(desk, "hand", address="pack/s11") == {"done": 1}
    desk.advance(0.2)
    assert outcomes(desk) == {"c1": "done"}
    assert desk.settings("pack/s11")["low_cut_hz"] == 120
    assert throw(desk, "hand", address="pack/s11") == {"done": 0}


def test_a_write_that_waits_for_a_hand_may_be_given_up(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-single-1")
    desk.write("pack/s11", "c1", low_cut_hz=120)
    assert desk.cancel("pack/s11", "c1")
    assert throw(desk, "hand", address="pack/s11") == {"done": 0}
    desk.advance(2.0)
    assert outcomes(desk) == {"c1": "cancelled"}
    assert sink.world.packs[sink.seat_of_pack("pack/s11")].settings["low_cut_hz"] == 80


def test_a_pack_is_controlled_through_an_access_point_while_others_hear_it(sink: VirtualFleet) -> None:
    point, ear = desk_of(sink, "sink-point-1"), desk_of(sink, "sink-reader-1")
    for desk in (point, ear):
        desk.advance(2.0)
    assert ear.exact("sink-reader-1/channel/1", "identity") == "pack/s22"
    assert "pack/s22" not in sink.device("sink-reader-1").description.packs
    assert isinstance(point.write("pack/s21", "c1", low_cut_hz=100), messages.WriteResult)
    point.advance(1.0)
    assert outcomes(point) == {"c1": "done"}


def test_a_device_that_can_only_be_read_refuses_everything(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-reader-1")
    for refused in (
        desk.write("sink-reader-1/channel/2", "c1", trim_db=3.0),
        desk.write("pack/s31", "c2", low_cut_hz=100),
        desk.act("sink-reader-1", "c3", "identify"),
    ):
        assert isinstance(refused, Refusal)
        assert refused.code == ErrorCode.UNSUPPORTED
    assert not any(one.writable for one in sink.device("sink-reader-1").description.capabilities)
    throw(desk, "turn_panel", address="sink-reader-1/channel/2", changes={"trim_db": 3})
    assert desk.settings("sink-reader-1/channel/2")["trim_db"] == 3.0


def test_a_locked_panel_takes_nothing_but_its_unlocking(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    throw(desk, "turn_panel", address="sink-wide-1", changes={"panel_locked": True})
    server = ExerciseServer(sink, lambda: desk.now_us, "token")
    params = {"address": "sink-wide-1/channel/1", "changes": {"trim_db": 3}}
    asked = json.dumps({"jsonrpc": "2.0", "id": 1, "method": "turn_panel", "params": params})
    assert "locked" in json.loads(server.answer(asked))["error"]["message"]
    throw(desk, "turn_panel", address="sink-wide-1", changes={"panel_locked": False})
    throw(desk, "turn_panel", **params)
