"""Descriptions that hang together, and those that don't."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.model.capability import ActCapability, Argument, Capability, Held, SchemaType, ValueSchema
from fleet.model.description import (
    CAPABILITIES_MAXIMUM,
    THINGS_MAXIMUM,
    addresses_in,
    problem_with_description,
    with_ears_guarded,
)
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription

CARRIER = CarrierDescription("quay-1/carrier/1", ("quay-1/carrier/1/branch/a",), ("quay-1/channel/1",))
CHANNEL = ChannelDescription("quay-1/channel/1", "quay-1/carrier/1", "pack/k17")
GOOD = DeviceDescription("quay-1", "receiver", "rack", True, False, (CARRIER,), (CHANNEL,), ("pack/k17",))
OF_NOTHING = Capability(("quay-1/channel/9",), "muted", ValueSchema(SchemaType.BOOLEAN), Held.RECEIVER)


def test_a_good_description_names_all_it_has() -> None:
    named = {"quay-1", "quay-1/carrier/1", "quay-1/carrier/1/branch/a", "quay-1/channel/1", "pack/k17"}
    assert {address for _, address in addresses_in(GOOD)} == named
    assert problem_with_description(GOOD, "quay-1") is None
    rich = setting(ValueSchema(INTEGER, -12, 12, 3, enum=(-12, 0, 12)), confirm_within_ms=60_000)
    assert problem_with_description(rich, "quay-1") is None


def setting(
    schema: ValueSchema, accept_within_ms: int = 2_000, confirm_within_ms: int = 5_000, fastest_interval_ms: int = 1_000
) -> DeviceDescription:
    """The good device with a setting of that schema."""
    capability = Capability(
        ("quay-1/channel/1",),
        "trim_db",
        schema,
        Held.RECEIVER,
        accept_within_ms=accept_within_ms,
        confirm_within_ms=confirm_within_ms,
        fastest_interval_ms=fastest_interval_ms,
    )
    return replace(GOOD, capabilities=(capability,))


INTEGER = SchemaType.INTEGER
BAD = {
    "a step of nothing": (setting(ValueSchema(INTEGER, multiple_of=0)), "a step of 0"),
    "a step back": (setting(ValueSchema(INTEGER, multiple_of=-3)), "a step of -3"),
    "a step too small to count": (setting(ValueSchema(SchemaType.NUMBER, multiple_of=1e-300)), "a step of 1e-300"),
    "a range that holds nothing": (setting(ValueSchema(INTEGER, 3, -3)), "nothing lies from 3 to -3"),
    "a range without end": (setting(ValueSchema(INTEGER, maximum=10.0**20)), "a number beyond 1e+15"),
    "a choice of another kind": (
        setting(ValueSchema(INTEGER, enum=(80, "off"))),
        "the choice 'off' must be an integer",
    ),
    "a choice out of range": (setting(ValueSchema(INTEGER, maximum=100, enum=(80, 120))), "the choice 120 must be"),
    "a choice beyond a double": (setting(ValueSchema(INTEGER, enum=(10**400,))), "a number beyond 1e+15"),
    "a text of less than nothing": (
        setting(ValueSchema(SchemaType.STRING, maximum_length=-1)),
        "at most -1 characters",
    ),
    "an answer that nobody lives to hear": (
        setting(ValueSchema(INTEGER), 10**15),
        "an answer within 1000000000000000 ms",
    ),
    "an answer beyond a double": (setting(ValueSchema(INTEGER), 10**400), "an answer within 1000"),
    "an answer before the question": (setting(ValueSchema(INTEGER), 2_000, 0), "an answer within 0 ms"),
    "a pause for ever": (setting(ValueSchema(INTEGER), fastest_interval_ms=10**15), "a pause of 1000000000000000 ms"),
    "a pause of less than nothing": (setting(ValueSchema(INTEGER), fastest_interval_ms=-1), "a pause of -1 ms"),
    "another device": (replace(GOOD, device_id="quay-2"), "quay-1 describes itself as 'quay-2'"),
    "a thing twice": (replace(GOOD, packs=("pack/k17", "pack/k17")), "it names 'pack/k17' twice"),
    "another device's carrier": (
        replace(GOOD, carriers=(replace(CARRIER, address="quay-2/carrier/1", branches=()),)),
        "'quay-2/carrier/1' is no carrier of quay-1",
    ),
    "another carrier's branch": (
        replace(GOOD, carriers=(replace(CARRIER, branches=("quay-1/carrier/2/branch/a",)),)),
        "'quay-1/carrier/2/branch/a' is no branch of quay-1/carrier/1",
    ),
    "a channel for a pack": (replace(GOOD, packs=("quay-1/channel/2",)), "is no pack of anybody"),
    "no address at all": (replace(GOOD, packs=("pack/../K17",)), "each part is 1 to 64 of"),
    "a link to no pack": (replace(GOOD, channels=(replace(CHANNEL, pack="<b>"),)), "each part is 1 to 64 of"),
    "a link to a device": (
        replace(GOOD, channels=(replace(CHANNEL, pack="quay-1"),)),
        "'quay-1' is no pack of anybody",
    ),
    "a channel on no carrier": (
        replace(GOOD, channels=(replace(CHANNEL, carrier="quay-1/carrier/9"),)),
        "it refers to 'quay-1/carrier/9' and doesn't describe it",
    ),
    "a carrier with no such channel": (
        replace(GOOD, carriers=(replace(CARRIER, channels=("quay-1/channel/9",)),)),
        "it refers to 'quay-1/channel/9' and doesn't describe it",
    ),
    "a capability of nothing": (
        replace(GOOD, capabilities=(OF_NOTHING,)),
        "it refers to 'quay-1/channel/9' and doesn't describe it",
    ),
    "too many things": (
        replace(GOOD, packs=tuple(f"pack/{number}" for number in range(THINGS_MAXIMUM))),
        f"more than {THINGS_MAXIMUM} things",
    ),
    "too many capabilities": (
        replace(GOOD, capabilities=(OF_NOTHING,) * (CAPABILITIES_MAXIMUM + 1)),
        f"or {CAPABILITIES_MAXIMUM} capabilities",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_what_makes_no_sense_is_said_in_words(name: str) -> None:
    description, words = BAD[name]
    problem = problem_with_description(description, "quay-1")
    assert problem is not None
    assert words in problem
    assert len(problem) < 300


def test_a_key_is_a_secret_argument_and_no_setting() -> None:
    text = ValueSchema(SchemaType.STRING)
    told = ActCapability(("quay-1/channel/1",), "set_key", arguments=(Argument("key", text),))
    secret = replace(told, arguments=(Argument("key", text, secret=True),))
    kept = Capability(("quay-1",), "pairing_key", text, Held.RECEIVER)
    assert problem_with_description(replace(GOOD, acts=(secret,)), "quay-1") is None
    for bad in (replace(GOOD, acts=(told,)), replace(GOOD, capabilities=(kept,))):
        assert "key" in (problem_with_description(bad, "quay-1") or "")


def test_in_ear_settings_are_locked_whatever_the_device_says() -> None:
    power = replace(OF_NOTHING, targets=("quay-1/channel/1",), field="rf_power_mw")
    name = replace(power, field="name")
    acts = tuple(ActCapability(("quay-1",), act) for act in ("identify", "restart", "tone"))
    ears = with_ears_guarded(replace(GOOD, kind="in-ear transmitter", capabilities=(power, name), acts=acts))
    assert [(each.field, each.guarded) for each in ears.capabilities] == [("rf_power_mw", True), ("name", False)]
    assert [(each.act, each.guarded) for each in ears.acts] == [("identify", False), ("restart", False), ("tone", True)]
    plain = replace(GOOD, capabilities=(power, name), acts=acts)
    assert with_ears_guarded(plain) == plain
