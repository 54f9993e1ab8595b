"""Which zones a thing serves, by the production's channels."""

from __future__ import annotations

import pytest

from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription, OutputDescription
from fleet.model.production import AntennaPath, Position, Production
from fleet.state.zone_reach import zones_of
from fleet.topology import Topology, build_topology

SPLIT = "house-split/input/a"
PRODUCTION = Production(
    "The Lamp at Tern Rock",
    ("House", "Quay"),
    (
        Position(1, "Keeper", "House", "house-1/channel/1", "pack/k01"),
        Position(17, "Fiddler", "Quay", "house-1/channel/2", "pack/k17"),
        Position(18, "Crier", "Quay", "quay-1/channel/1", "pack/k18"),
    ),
    antenna_paths=(AntennaPath("House left", ("house-1/carrier/1/branch/a",), SPLIT),),
)


def receiver(device_id: str, channels: int) -> DeviceDescription:
    numbers = range(1, channels + 1)
    return DeviceDescription(
        device_id,
        "receiver",
        "rack",
        simulated=True,
        read_only=False,
        carriers=tuple(
            CarrierDescription(
                f"{device_id}/carrier/{one}", (f"{device_id}/carrier/{one}/branch/a",), (f"{device_id}/channel/{one}",)
            )
            for one in numbers
        ),
        channels=tuple(
            ChannelDescription(f"{device_id}/channel/{one}", f"{device_id}/carrier/{one}", None) for one in numbers
        ),
        outputs=(OutputDescription(f"{device_id}/output/1", "analog"),),
    )


@pytest.fixture(scope="module")
def topology() -> Topology:
    devices = {"house-1": receiver("house-1", 2), "quay-1": receiver("quay-1", 1)}
    return build_topology(devices, PRODUCTION)


@pytest.mark.parametrize(
    ("address", "zones"),
    [
        ("house-1/channel/1", ("House",)),
        ("house-1/carrier/2", ("Quay",)),
        ("house-1/carrier/1/branch/a", ("House",)),
        ("pack/k17", ("Quay",)),
        ("house-1", ("House", "Quay")),
        ("house-1/output/1", ("House", "Quay")),
        ("quay-1", ("Quay",)),
        (SPLIT, ("House",)),
        ("house-split", ("House",)),
        ("pack/unknown", ()),
        ("moon-1", ()),
    ],
)
def test_the_zones_of_an_address(topology: Topology, address: str, zones: tuple[str, ...]) -> None:
    assert zones_of(address, topology) == zones
