from __future__ import annotations

from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import desk_of, throw


def test_what_hangs_on_a_mode_goes_and_comes_with_it(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    carrier = "sink-wide-1/carrier/1"
    assert desk.settings(carrier)["bandwidth_hz"] == 200_000
    desk.write(carrier, "c1", mode="robust")
    assert set(desk.settings(carrier)) == {"frequency_hz", "mode", "encryption"}
    desk.advance(1.0)
    refused = desk.write(carrier, "c2", bandwidth_hz=200_000)
    assert isinstance(refused, Refusal)
    assert refused.code == ErrorCode.UNSUPPORTED
    desk.advance(1.0)
    desk.write(carrier, "c3", mode="dense")
    told = next(change for change in reversed(desk.all(messages.Changed)) if change.command_id == "c3")
    assert told.settings == {"mode": "dense", "bandwidth_hz": 100_000, "tone_squelch": False}
    desk.advance(1.0)
    wide = desk.write(carrier, "c4", bandwidth_hz=400_000)
    assert isinstance(wide, Refusal)
    assert wide.code == ErrorCode.OUT_OF_RANGE


def test_a_region_moves_a_frequency_that_it_forbids(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    carrier = "sink-wide-1/carrier/1"
    desk.write("sink-wide-1", "c1", region="south")
    desk.advance(1.0)
    desk.write(carrier, "c2", frequency_hz=600_000_000)
    desk.advance(1.0)
    desk.write("sink-wide-1", "c3", region="north")
    assert desk.settings(carrier)["frequency_hz"] == 510_000_000
    assert desk.all(messages.Changed)[-1].address == carrier
    desk.advance(1.0)
    refused = desk.write(carrier, "c4", frequency_hz=600_000_000)
    assert isinstance(refused, Refusal)
    assert refused.code == ErrorCode.OUT_OF_RANGE


def test_all_that_can_hurt_hearing_is_guarded_and_starts_down(sink: VirtualFleet) -> None:
    described = sink.device("sink-ear-1").description
    assert {one.field for one in described.capabilities if not one.guarded} == {"name"}
    assert {act.act for act in described.acts if act.guarded} == {"tone"}
    carrier = sink.device("sink-ear-1").known_settings("sink-ear-1/carrier/1")
    assert (carrier["rf_on"], carrier["rf_power_mw"]) == (False, 2.0)
    assert sink.device("sink-ear-1").known_settings("sink-ear-1/channel/1")["muted"] is True


def test_a_plugged_module_is_described_anew_and_works(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-wide-1")
    desk.lease()
    before = sink.device("sink-wide-1").digest
    digest = throw(desk, "plug_module", device_id="sink-wide-1", module="headphones")["digest"]
    desk.advance(0.2)
    assert desk.all(messages.Described) == [messages.Described(digest, "sink-wide-1")]
    assert digest != before
    output = "sink-wide-1/output/4"
    assert output in {one.address for one in sink.device("sink-wide-1").description.outputs}
    assert isinstance(desk.write(output, "c1", delay_ms=0.0, level_db=-40.0), messages.WriteResult)
    assert desk.settings(output)["level_db"] == -40.0
