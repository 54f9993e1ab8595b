"""What a device says about each of its settings: which values, where held, what a change does."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from fleet.model.fields import Value

ACCEPT_WITHIN_MS = 2_000
CONFIRM_WITHIN_MS = 5_000
TEXT_LENGTH_MAXIMUM = 64
_STEP_TOLERANCE = 1e-6


class Held(StrEnum):
    """Where a setting lives."""

    RECEIVER = "receiver"
    PACK = "pack"


class SchemaType(StrEnum):
    """The JSON Schema types a setting may have."""

    INTEGER = "integer"
    NUMBER = "number"
    BOOLEAN = "boolean"
    STRING = "string"


@dataclass(frozen=True, slots=True)
class ValueSchema:
    """The fragment of JSON Schema that describes the allowed values.

    ``enum`` lists the only allowed values where there is one. ``multiple_of`` is the step, counted from ``minimum``
    where there is one and from zero otherwise. A string has at most ``maximum_length`` characters.
    """

    type: SchemaType
    minimum: float | None = None
    maximum: float | None = None
    multiple_of: float | None = None
    enum: tuple[Value, ...] = ()
    maximum_length: int = TEXT_LENGTH_MAXIMUM


@dataclass(frozen=True, slots=True)
class Capability:
    """One setting of one or several things of a device.

    ``targets`` are addresses. ``words`` is the device's own plain name for a field that the catalogue doesn't know.
    ``revisions_synthesised`` says that the adapter, not the device, counts revisions.
    """

    targets: tuple[str, ...]
    field: str
    schema: ValueSchema
    held: Held
    unit: str = ""
    words: str = ""
    writable: bool = True
    inferred: bool = False
    mutes: bool = False
    needs_awake: bool = False
    needs_hand: bool = False
    fastest_interval_ms: int = 1_000
    accept_within_ms: int = ACCEPT_WITHIN_MS
    confirm_within_ms: int = CONFIRM_WITHIN_MS
    revisions_synthesised: bool = False


def problem_with(schema: ValueSchema, value: object) -> str | None:
    """Why ``value`` is not allowed, in words, or None when it is."""
    kind_problem = _kind_problem(schema.type, value)
    if kind_problem is not None:
        return kind_problem
    if schema.enum and value not in schema.enum:
        return f"must be one of {', '.join(str(choice) for choice in schema.enum)}"
    if isinstance(value, str):
        return _text_problem(schema, value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return _number_problem(schema, value)


def _kind_problem(kind: SchemaType, value: object) -> str | None:
    matches = {
        SchemaType.BOOLEAN: isinstance(value, bool),
        SchemaType.INTEGER: isinstance(value, int) and not isinstance(value, bool),
        SchemaType.NUMBER: isinstance(value, int | float) and not isinstance(value, bool),
        SchemaType.STRING: isinstance(value, str),
    }
    article = "an" if kind is SchemaType.INTEGER else "a"
    return None if matches[kind] else f"must be {article} {kind.value}"


def _text_problem(schema: ValueSchema, value: str) -> str | None:
    if len(value) > schema.maximum_length:
        return f"must have at most {schema.maximum_length} characters"
    if not value.isprintable():
        return "must have printable characters only"
    return None


def _number_problem(schema: ValueSchema, value: float) -> str | None:
    if not math.isfinite(value):
        return "must be a finite number"
    if schema.minimum is not None and value < schema.minimum:
        return f"must be at least {schema.minimum:g}"
    if schema.maximum is not None and value > schema.maximum:
        return f"must be at most {schema.maximum:g}"
    if schema.multiple_of is None:
        return None
    steps = (value - (schema.minimum or 0.0)) / schema.multiple_of
    if abs(steps - round(steps)) > _STEP_TOLERANCE:
        return f"must lie on the step of {schema.multiple_of:g}"
    return None
