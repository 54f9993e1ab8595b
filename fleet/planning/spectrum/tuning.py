"""What gear can be tuned to and what it needs, from what it says of itself, as a request for frequencies takes it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial

from fleet.model.capability import Capability, Condition, in_force
from fleet.model.device import CarrierDescription, DeviceDescription
from fleet.model.fields import Value
from fleet.model.gear_tuning import GearTuning, ProfileOfGear, TuningRanges

SPACING_HZ = 400_000
ANALOG_THIRD_TWO_SIGNAL_HZ = 200_000
ANALOG_THIRD_THREE_SIGNAL_HZ = 150_000
ANALOG_FIFTH_TWO_SIGNAL_HZ = 100_000
DIGITAL_CARRIER_TO_INTERFERENCE_DB = 20.0
"""All five are common practice, where to begin from; whoever plans may change them."""

_HZ_PER_MHZ = 1e6

SettingsOf = Callable[[str], Mapping[str, Value]]


def gear_tunings(devices: Iterable[DeviceDescription], settings_of: SettingsOf) -> tuple[GearTuning, ...]:
    """Every way in which carriers of these devices are tuned now, each with its carriers, by name.

    ``settings_of`` gives the settings of an address. Carriers that can't be tuned, or don't say to what, are left out.
    """
    found: dict[tuple[TuningRanges, ProfileOfGear], list[str]] = {}
    for device in devices:
        for carrier in device.carriers:
            address = carrier.address
            tuning = tuning_now(device, address, partial(_or_own, settings_of, address), "")
            if tuning is None:
                continue
            bandwidth_hz = settings_of(address).get("bandwidth_hz")
            profile = profile_of(carrier, bandwidth_hz if isinstance(bandwidth_hz, int) else None)
            named = replace(tuning, name=_name(tuning, profile))
            found.setdefault((named, profile), []).append(address)
    made = [GearTuning(tuning, profile, tuple(carriers)) for (tuning, profile), carriers in found.items()]
    return tuple(sorted(made, key=lambda each: (each.tuning.name, each.tuning.words, each.carriers)))


def _or_own(settings_of: SettingsOf, own: str, asked: str) -> Mapping[str, Value]:
    """The settings of an address, of the carrier itself where none is named."""
    return settings_of(asked or own)


def _name(tuning: TuningRanges, profile: ProfileOfGear) -> str:
    """Where it reaches from and to, and of what kind it is."""
    low, high = tuning.ranges[0][0] / _HZ_PER_MHZ, tuning.ranges[-1][1] / _HZ_PER_MHZ
    return f"{low:g} to {high:g} MHz, {profile.name}"


def tuning_now(device: DeviceDescription, carrier: str, settings_of: SettingsOf, name: str) -> TuningRanges | None:
    """What a carrier can be tuned to as its device is set now, or None: it can't be, or doesn't say.

    ``settings_of`` gives the settings of an address, and of the carrier itself for an empty one.
    """
    found = in_force(_of_field(device, carrier, "frequency_hz"), settings_of)
    return None if found is None or not found.writable else _tuning(found, name)


def every_tuning(device: DeviceDescription, carrier: str, name: str) -> tuple[TuningRanges, ...]:
    """What a carrier could be tuned to under each of the conditions that its device names."""
    found = [_tuning(each, name) for each in _of_field(device, carrier, "frequency_hz") if each.writable]
    return tuple(tuning for tuning in found if tuning is not None)


def profile_of(carrier: CarrierDescription, bandwidth_hz: int | None = None) -> ProfileOfGear:
    """What a carrier needs, by whether it is analog and by the bandwidth it is set to, where that is known."""
    wide_hz = bandwidth_hz or 0
    spacing_hz = max(SPACING_HZ, wide_hz)
    if not carrier.analog:
        return ProfileOfGear("digital", spacing_hz, carrier_to_interference_db=DIGITAL_CARRIER_TO_INTERFERENCE_DB)
    return ProfileOfGear(
        "analog", spacing_hz, ANALOG_THIRD_TWO_SIGNAL_HZ, ANALOG_THIRD_THREE_SIGNAL_HZ, ANALOG_FIFTH_TWO_SIGNAL_HZ
    )


def _of_field(device: DeviceDescription, address: str, field: str) -> list[Capability]:
    return [each for each in device.capabilities if each.field == field and address in each.targets]


def _tuning(capability: Capability, name: str) -> TuningRanges | None:
    schema, words = capability.schema, _conditions_in_words(capability.when)
    if schema.enum:
        listed = sorted(int(each) for each in schema.enum if isinstance(each, int | float))
        step_hz = math.gcd(*(high - listed[0] for high in listed)) or 1
        return TuningRanges(name, step_hz, tuple((each, each) for each in listed), words) if listed else None
    if schema.minimum is None or schema.maximum is None:
        return None
    step_hz = max(1, math.ceil(schema.multiple_of or 1.0))
    start_hz = math.ceil(schema.minimum)
    stop_hz = start_hz + (math.floor(schema.maximum) - start_hz) // step_hz * step_hz
    return TuningRanges(name, step_hz, ((start_hz, stop_hz),), words) if stop_hz >= start_hz else None


def _conditions_in_words(conditions: Iterable[Condition]) -> str:
    return ", ".join(
        f"while {each.field} of {each.address or 'the carrier'} is {' or '.join(str(value) for value in each.values)}"
        for each in conditions
    )
