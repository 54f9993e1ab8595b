"""Addresses are slash paths with one reading each."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.address import (
    Place,
    branch_address,
    carrier_address,
    channel_address,
    pack_address,
    parse_address,
)

IDS = st.from_regex(r"[a-z0-9._-]{1,64}", fullmatch=True)


@pytest.mark.parametrize(
    ("text", "place", "device_id", "name"),
    [
        ("quay-1", Place.DEVICE, "quay-1", "quay-1"),
        ("quay-1/carrier/1", Place.CARRIER, "quay-1", "1"),
        ("quay-1/carrier/1/branch/a", Place.BRANCH, "quay-1", "a"),
        ("quay-1/channel/2", Place.CHANNEL, "quay-1", "2"),
        ("pack/4f2a", Place.PACK, "", "4f2a"),
    ],
)
def test_reads_the_forms_the_contract_names(text: str, place: Place, device_id: str, name: str) -> None:
    address = parse_address(text)
    assert (address.place, address.device_id, address.name) == (place, device_id, name)


@pytest.mark.parametrize(
    "text",
    ["", "pack", "Quay-1", "quay-1/", "/quay-1", "quay-1/output", "pack/a/b", "quay 1", "a/b/c", "q/carrier/1/branch"],
)
def test_refuses_what_is_no_address(text: str) -> None:
    with pytest.raises(ValueError, match=r"address|each part"):
        parse_address(text)


@given(IDS.filter(lambda text: text != "pack"), IDS, IDS)
def test_built_addresses_read_back(device_id: str, name: str, label: str) -> None:
    carrier = carrier_address(device_id, name)
    assert parse_address(carrier).place is Place.CARRIER
    assert parse_address(branch_address(carrier, label)).name == label
    assert parse_address(channel_address(device_id, name)).device_id == device_id
    assert parse_address(pack_address(name)).name == name
