"""Tuning ranges and profiles from what gear says of itself."""

from __future__ import annotations

from dataclasses import replace

import msgspec

from fleet.model.capability import Capability, Condition, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, DeviceDescription
from fleet.model.fields import Value
from fleet.model.gear_tuning import TuningRanges
from fleet.planning.coordination.request import Profile, Tuning
from fleet.planning.spectrum.tuning import every_tuning, gear_tunings, profile_of, tuning_now

ADDRESS = "quay-1/carrier/1"
CARRIER = CarrierDescription(ADDRESS, (), ())
NORTH = ValueSchema(SchemaType.INTEGER, 470_000_000, 510_000_000, 25_000)
SOUTH = ValueSchema(SchemaType.INTEGER, 606_000_010, 614_000_000, 100_000)


def device(*capabilities: Capability) -> DeviceDescription:
    return DeviceDescription("quay-1", "receiver", "rack", True, False, (CARRIER,), capabilities=capabilities)


def tuned(schema: ValueSchema, region: str = "", *, writable: bool = True) -> Capability:
    when = (Condition("region", (region,), "quay-1"),) if region else ()
    return Capability((ADDRESS,), "frequency_hz", schema, Held.RECEIVER, writable=writable, when=when)


def nothing(_: str) -> dict[str, Value]:
    return {}


def test_a_range_and_its_step() -> None:
    found = tuning_now(device(tuned(NORTH)), ADDRESS, nothing, "Wand")
    assert found == TuningRanges("Wand", 25_000, ((470_000_000, 510_000_000),))


def test_ranges_that_hang_on_a_region() -> None:
    both = device(tuned(NORTH, "north"), tuned(SOUTH, "south"))
    now = tuning_now(both, ADDRESS, lambda address: {"region": "south"} if address == "quay-1" else {}, "Wand")
    assert now is not None
    assert now.ranges == ((606_000_010, 613_900_010),), "in steps from the start"
    assert [each.words for each in every_tuning(both, ADDRESS, "Wand")] == [
        "while region of quay-1 is north",
        "while region of quay-1 is south",
    ]
    assert tuning_now(both, ADDRESS, nothing, "Wand") is None


def test_listed_frequencies_are_ranges_of_one() -> None:
    listed = ValueSchema(SchemaType.INTEGER, enum=(863_100_000, 864_900_000, 863_700_000))
    found = tuning_now(device(tuned(listed)), ADDRESS, nothing, "Wand")
    assert found is not None
    assert (found.step_hz, found.ranges[1]) == (600_000, (863_700_000, 863_700_000))


def test_what_cannot_be_tuned_or_does_not_say() -> None:
    assert tuning_now(device(tuned(NORTH, writable=False)), ADDRESS, nothing, "Wand") is None
    assert tuning_now(device(tuned(ValueSchema(SchemaType.INTEGER))), ADDRESS, nothing, "Wand") is None
    assert tuning_now(device(), ADDRESS, nothing, "Wand") is None


def test_profiles_are_common_practice_by_kind_and_bandwidth() -> None:
    """Common practice: analog 400 kHz apart with guards of 200, 150 and 100 kHz; digital with 20 dB to interference."""
    analog, digital = profile_of(replace(CARRIER, analog=True)), profile_of(CARRIER, 600_000)
    guards = (analog.third_two_signal_hz, analog.third_three_signal_hz, analog.fifth_two_signal_hz)
    assert (analog.spacing_hz, guards) == (400_000, (200_000, 150_000, 100_000))
    assert (digital.spacing_hz, digital.carrier_to_interference_db, digital.third_two_signal_hz) == (600_000, 20.0, 0)


def test_both_are_what_a_request_takes() -> None:
    found = tuning_now(device(tuned(NORTH)), ADDRESS, nothing, "Wand")
    table = {name: value for name, value in msgspec.to_builtins(found).items() if name != "words"}
    assert msgspec.convert(table, Tuning).step_hz == 25_000
    profile = {key: value for key, value in msgspec.to_builtins(profile_of(CARRIER)).items() if value is not None}
    assert msgspec.convert(profile, Profile).spacing_hz == 400_000


def test_carriers_that_are_tuned_alike_are_one_kind_of_gear() -> None:
    first, second, third = (f"quay-1/carrier/{number}" for number in (1, 2, 3))
    carriers = tuple(CarrierDescription(each, (), (), analog=each == third) for each in (first, second, third))
    north = replace(tuned(NORTH), targets=(first, second, third))
    quay = replace(device(north), carriers=carriers)
    silent = replace(device(), device_id="quay-2", carriers=(CarrierDescription("quay-2/carrier/1", (), ()),))
    found = gear_tunings([quay, silent], lambda address: {"bandwidth_hz": 600_000} if address == second else {})
    told = [(each.tuning.name, each.profile.spacing_hz, each.carriers) for each in found]
    assert told == [
        ("470 to 510 MHz, analog", 400_000, (third,)),
        ("470 to 510 MHz, digital", 400_000, (first,)),
        ("470 to 510 MHz, digital", 600_000, (second,)),
    ]
    assert all(each.tuning.ranges == ((470_000_000, 510_000_000),) for each in found)
