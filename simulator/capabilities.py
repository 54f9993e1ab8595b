"""What a virtual receiver says of itself: its shape, and every setting with its allowed values."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

import msgspec

from fleet.model.capability import Capability, SchemaType, ValueSchema, problem_with
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from simulator.scenario import Tuning

TEXT = ValueSchema(SchemaType.STRING)
FLAG = ValueSchema(SchemaType.BOOLEAN)
ATTENUATION = ValueSchema(SchemaType.NUMBER, minimum=0.0, maximum=30.0, multiple_of=1.0)
TRIM = ValueSchema(SchemaType.NUMBER, minimum=-18.0, maximum=18.0, multiple_of=1.0)
_DIGEST_LENGTH = 16


def digest_of(description: DeviceDescription) -> str:
    """A short text that changes whenever the description does."""
    return hashlib.sha256(msgspec.json.encode(description)).hexdigest()[:_DIGEST_LENGTH]


def problem_of(capability: Capability, value: object, *, writing: bool = True) -> str | None:
    """Why the value can't be set, or can't be at all, in words, or None."""
    if writing and not capability.writable:
        return "can't be written"
    return problem_with(capability.schema, value)


def as_held(capability: Capability, value: Value) -> Value:
    """The value in the type that the device keeps it in: a number is a float, whatever it was written as."""
    return float(value) if capability.schema.type is SchemaType.NUMBER else value


def nearest(capability: Capability, value: Value) -> Value:
    """The allowed value that lies nearest to one that isn't allowed any more."""
    schema = capability.schema
    if schema.enum:
        numbers = [each for each in schema.enum if isinstance(each, int | float) and not isinstance(each, bool)]
        if isinstance(value, bool | str) or len(numbers) != len(schema.enum):
            return schema.enum[0]
        return min(numbers, key=lambda each: abs(each - value))
    least, most = schema.minimum, schema.maximum
    if isinstance(value, bool | str) or least is None or most is None:
        return value
    step = schema.multiple_of or 1.0
    moved = least + round((min(max(value, least), most) - least) // step) * step
    return as_held(capability, round(moved) if schema.type is SchemaType.INTEGER else moved)


def allowed(capability: Capability) -> Mapping[str, object]:
    """The allowed values, for an answer that refuses one."""
    found: dict[str, object] = msgspec.to_builtins(capability.schema)
    return {name: value for name, value in found.items() if value not in (None, [])}


def frequencies(tuning: Tuning) -> ValueSchema:
    """The frequencies that gear with that tuning can take."""
    return ValueSchema(
        SchemaType.INTEGER, minimum=tuning.minimum_hz, maximum=tuning.maximum_hz, multiple_of=tuning.step_hz
    )
