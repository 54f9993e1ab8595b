"""Descriptions that hang together, and those that don't."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.errors import MalformedMessage
from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.protocol.description import THINGS_MAXIMUM, addresses_of, check_description

CARRIER = CarrierDescription("quay-1/carrier/1", ("quay-1/carrier/1/branch/a",), ("quay-1/channel/1",))
CHANNEL = ChannelDescription("quay-1/channel/1", "quay-1/carrier/1", "pack/k17")
GOOD = DeviceDescription("quay-1", "receiver", "rack", True, False, (CARRIER,), (CHANNEL,), ("pack/k17",))
OF_NOTHING = Capability(("quay-1/channel/9",), "muted", ValueSchema(SchemaType.BOOLEAN), Held.RECEIVER)


def test_a_good_description_names_all_it_has() -> None:
    named = {"quay-1", "quay-1/carrier/1", "quay-1/carrier/1/branch/a", "quay-1/channel/1", "pack/k17"}
    assert check_description(GOOD, "quay-1") == named
    assert addresses_of(GOOD) == named
    check_description(setting(ValueSchema(INTEGER, -12, 12, 3, enum=(-12, 0, 12)), confirm_within_ms=60_000), "quay-1")


def setting(schema: ValueSchema, accept_within_ms: int = 2_000, confirm_within_ms: int = 5_000) -> DeviceDescription:
    """The good device with a setting of that schema."""
    capability = Capability(("quay-1/channel/1",), "trim_db", schema, Held.RECEIVER)
    timed = replace(capability, accept_within_ms=accept_within_ms, confirm_within_ms=confirm_within_ms)
    return replace(GOOD, capabilities=(timed,))


INTEGER = SchemaType.INTEGER
BAD = {
    "a step of nothing": setting(ValueSchema(INTEGER, multiple_of=0)),
    "a step back": setting(ValueSchema(INTEGER, multiple_of=-3)),
    "a range that holds nothing": setting(ValueSchema(INTEGER, minimum=3, maximum=-3)),
    "a choice of another kind": setting(ValueSchema(INTEGER, enum=(80, "off"))),
    "a choice out of range": setting(ValueSchema(INTEGER, maximum=100, enum=(80, 120))),
    "a text of less than nothing": setting(ValueSchema(SchemaType.STRING, maximum_length=-1)),
    "an answer that nobody lives to hear": setting(ValueSchema(INTEGER), accept_within_ms=10**15),
    "an answer before the question": setting(ValueSchema(INTEGER), confirm_within_ms=0),
    "another device": replace(GOOD, device_id="quay-2"),
    "a thing twice": replace(GOOD, packs=("pack/k17", "pack/k17")),
    "another device's carrier": replace(GOOD, carriers=(replace(CARRIER, address="quay-2/carrier/1", branches=()),)),
    "another carrier's branch": replace(GOOD, carriers=(replace(CARRIER, branches=("quay-1/carrier/2/branch/a",)),)),
    "a channel for a pack": replace(GOOD, packs=("quay-1/channel/2",)),
    "no address at all": replace(GOOD, packs=("pack/../k17",)),
    "a channel on no carrier": replace(GOOD, channels=(replace(CHANNEL, carrier="quay-1/carrier/9"),)),
    "a carrier with no such channel": replace(GOOD, carriers=(replace(CARRIER, channels=("quay-1/channel/9",)),)),
    "a capability of nothing": replace(GOOD, capabilities=(OF_NOTHING,)),
    "too many things": replace(GOOD, packs=tuple(f"pack/{number}" for number in range(THINGS_MAXIMUM))),
}


@pytest.mark.parametrize("name", BAD)
def test_a_description_that_makes_no_sense_is_malformed(name: str) -> None:
    with pytest.raises(MalformedMessage):
        check_description(BAD[name], "quay-1")
