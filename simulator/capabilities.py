"""What a virtual receiver says of itself: its shape, and every setting with its allowed values."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

import msgspec

from fleet.model.capability import Capability, Held, SchemaType, ValueSchema, problem_with
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.model.fields import Value
from simulator.rows import Row
from simulator.scenario import Tuning
from simulator.scenario_checks import LOW_CUTS_HZ, extra_schema

_TEXT = ValueSchema(SchemaType.STRING)
_FLAG = ValueSchema(SchemaType.BOOLEAN)
_INPUT_TRIM = ValueSchema(SchemaType.NUMBER, minimum=-24.0, maximum=24.0, multiple_of=3.0)
_TRIM = ValueSchema(SchemaType.NUMBER, minimum=-18.0, maximum=18.0, multiple_of=1.0)
_LOW_CUT = ValueSchema(SchemaType.INTEGER, enum=LOW_CUTS_HZ)
_DIGEST_LENGTH = 16


def describe(rows: Sequence[Row]) -> DeviceDescription:
    """The description of the receiver that all these rows belong to; there is at least one."""
    receiver = rows[0].receiver
    carriers = [CarrierDescription(row.carrier, row.branches, (row.channel,), receiver.analog) for row in rows]
    return DeviceDescription(
        device_id=receiver.id,
        kind="receiver",
        form=receiver.form,
        simulated=True,
        read_only=False,
        carriers=tuple(carriers),
        channels=tuple(ChannelDescription(row.channel, row.carrier, row.pack) for row in rows),
        packs=tuple(row.pack for row in rows),
        capabilities=(*_own_capabilities(rows), *_pack_capabilities(rows), *_extra_capabilities(rows)),
    )


def digest_of(description: DeviceDescription) -> str:
    """A short text that changes whenever the description does."""
    return hashlib.sha256(msgspec.json.encode(description)).hexdigest()[:_DIGEST_LENGTH]


def find_capability(description: DeviceDescription, address: str, field: str) -> Capability | None:
    """The capability of that field at that address."""
    found = (each for each in description.capabilities if each.field == field and address in each.targets)
    return next(found, None)


def problem_of(capability: Capability, value: object) -> str | None:
    """Why the value can't be set, in words, or None."""
    if not capability.writable:
        return "can't be written"
    return problem_with(capability.schema, value)


def as_held(capability: Capability, value: Value) -> Value:
    """The value in the type that the device keeps it in: a number is a float, whatever it was written as."""
    return float(value) if capability.schema.type is SchemaType.NUMBER else value


def allowed(capability: Capability) -> Mapping[str, object]:
    """The allowed values, for an answer that refuses one."""
    found: dict[str, object] = msgspec.to_builtins(capability.schema)
    return {name: value for name, value in found.items() if value not in (None, [])}


def _frequencies(tuning: Tuning) -> ValueSchema:
    return ValueSchema(
        SchemaType.INTEGER, minimum=tuning.minimum_hz, maximum=tuning.maximum_hz, multiple_of=tuning.step_hz
    )


def _own_capabilities(rows: Sequence[Row]) -> tuple[Capability, ...]:
    receiver = rows[0].receiver
    carriers = tuple(row.carrier for row in rows)
    channels = tuple(row.channel for row in rows)
    return (
        Capability((receiver.id,), "name", _TEXT, Held.RECEIVER),
        Capability(carriers, "frequency_hz", _frequencies(receiver.tuning), Held.RECEIVER, unit="Hz", mutes=True),
        Capability(channels, "name", _TEXT, Held.RECEIVER),
        Capability(channels, "trim_db", _TRIM, Held.RECEIVER, unit="dB"),
        Capability(channels, "muted", _FLAG, Held.RECEIVER, mutes=True),
    )


def _pack_capabilities(rows: Sequence[Row]) -> tuple[Capability, ...]:
    receiver = rows[0].receiver
    packs = tuple(row.pack for row in rows)
    powers = ValueSchema(SchemaType.NUMBER, enum=receiver.rf_power_steps_mw)

    def held(field: str, schema: ValueSchema, unit: str = "", *, mutes: bool = False, awake: bool = True) -> Capability:
        return Capability(packs, field, schema, Held.PACK, unit=unit, mutes=mutes, needs_awake=awake)

    return (
        held("name", _TEXT),
        held("frequency_hz", _frequencies(receiver.tuning), "Hz", mutes=True),
        held("input_trim_db", _INPUT_TRIM, "dB"),
        held("low_cut_hz", _LOW_CUT, "Hz"),
        held("rf_power_mw", powers, "mW"),
        held("standby", _FLAG, mutes=True, awake=False),
        held("muted", _FLAG, mutes=True),
    )


def _extra_capabilities(rows: Sequence[Row]) -> tuple[Capability, ...]:
    receiver = rows[0].receiver
    channels = tuple(row.channel for row in rows)
    return tuple(
        Capability(
            (receiver.id,) if extra.place == "device" else channels,
            extra.field,
            extra_schema(extra),
            Held.RECEIVER,
            unit=extra.unit,
            words=extra.words,
        )
        for extra in receiver.extra
    )
