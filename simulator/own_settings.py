"""Settings that a scenario gives a device beside those of its kind: their values and their capabilities."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fleet.model.capability import Capability, Condition, Held, SchemaType, ValueSchema
from fleet.model.fields import Value
from simulator.scenario_gear import Gear, OwnSetting

Places = Mapping[str, Sequence[str]]
"""The addresses of each place of a device, the device's own under ``device``."""


def own_schema(extra: OwnSetting) -> ValueSchema:
    """The allowed values of such a setting."""
    return ValueSchema(
        SchemaType(extra.type),
        minimum=extra.minimum,
        maximum=extra.maximum,
        multiple_of=extra.multiple_of,
        enum=extra.choices,
    )


def own_values(extras: Sequence[OwnSetting], address: str, place: str) -> dict[str, Value]:
    """What stands at one address at the start."""
    values: dict[str, Value] = {}
    for extra in extras:
        if extra.place == place and _stands_at(extra, address):
            values.setdefault(extra.field, _held(extra, extra.value))
    return values


def own_capabilities(extras: Sequence[OwnSetting], places: Places) -> tuple[Capability, ...]:
    """The capabilities, in the order of the scenario."""
    (device,) = places["device"]
    found = (_capability(extra, places.get(extra.place, ()), device) for extra in extras)
    return tuple(each for each in found if each.targets)


def _capability(extra: OwnSetting, addresses: Sequence[str], device: str) -> Capability:
    return Capability(
        tuple(address for address in addresses if _stands_at(extra, address)),
        extra.field,
        own_schema(extra),
        Held.PACK if extra.place == "pack" else Held.RECEIVER,
        unit=extra.unit,
        words=extra.words,
        writable=extra.writable,
        mutes=extra.mutes,
        needs_awake=extra.place == "pack",
        needs_hand=extra.needs_hand,
        guarded=extra.guarded,
        when=tuple(Condition(each.field, each.values, device if each.of_device else "") for each in extra.when),
    )


def _stands_at(extra: OwnSetting, address: str) -> bool:
    return not extra.only or address.rpartition("/")[2] in extra.only


def _held(extra: OwnSetting, value: Value) -> Value:
    return float(value) if extra.type == "number" else value


def own_settings(gear: Gear, places: Places) -> dict[str, dict[str, Value]]:
    """Everything that can be set of a device that has nothing but a name and what the scenario gives it."""
    settings: dict[str, dict[str, Value]] = {gear.id: {"name": gear.name or gear.id}}
    for place, addresses in places.items():
        for address in addresses:
            own = own_values(gear.extra, address, place)
            if own:
                settings.setdefault(address, {}).update(own)
    return settings
