from __future__ import annotations

from dataclasses import replace

from fleet.model.production import Position, Production
from fleet.topology import build_topology
from tests.small_fleet import describe, produce


def test_everything_is_found_by_its_address() -> None:
    topology = build_topology({"quay-1": describe("quay-1"), "quay-2": describe("quay-2")}, produce("quay-2"))
    assert topology.device_of["quay-1/carrier/1/branch/b"] == "quay-1"
    assert topology.channels_of["quay-1"] == ("quay-1/channel/1", "quay-1/channel/2")
    assert topology.channels_of["quay-1/carrier/2"] == ("quay-1/channel/2",)
    assert topology.channels_of["quay-1/carrier/2/branch/a"] == ("quay-1/channel/2",)
    assert topology.channels_of["pack/quay-1-2"] == ("quay-1/channel/2",)
    assert topology.assigned == {"quay-2/channel/1", "quay-2/channel/2"}
    assert set(topology.capabilities["pack/quay-1-1"]) == {"low_cut_hz", "rf_power_mw", "standby", "name"}
    assert topology.capabilities["quay-1/carrier/1"]["frequency_hz"][0].unit == "Hz"


def test_the_linked_pack_goes_before_the_productions() -> None:
    description = describe("quay-1")
    unlinked = replace(description, channels=(description.channels[0], replace(description.channels[1], pack=None)))
    positions = tuple(Position(n, "Part", "House", f"quay-1/channel/{n}", "pack/planned") for n in (1, 2))
    topology = build_topology({"quay-1": unlinked}, Production("Trial", ("House",), positions))
    assert topology.pack_of_channel("quay-1/channel/1") == "pack/quay-1-1"
    assert topology.pack_of_channel("quay-1/channel/2") == "pack/planned"
    assert topology.pack_of_channel("quay-9/channel/1") is None


def test_a_capability_for_a_thing_of_another_device_is_left_out() -> None:
    description = describe("quay-1")
    capability = replace(description.capabilities[0], targets=("pack/quay-2-1",))
    meddling = replace(description, capabilities=(capability,))
    topology = build_topology({"quay-2": describe("quay-2"), "quay-1": meddling}, produce())
    assert topology.capabilities["pack/quay-2-1"]["low_cut_hz"][0].targets == ("pack/quay-2-1", "pack/quay-2-2")
