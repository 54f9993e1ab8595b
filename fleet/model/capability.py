"""What a device says about each of its settings: which values, where held, what a change does."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from fleet.model.fields import Value

ACCEPT_WITHIN_MS = 2_000
CONFIRM_WITHIN_MS = 5_000
TEXT_LENGTH_MAXIMUM = 64
NUMBER_MAXIMUM = 1e15
"""No setting or argument is a number beyond this, so that every step can be counted in a double."""
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
class Condition:
    """What a capability hangs on: a setting of a thing of the same device that has one of these values now.

    An empty ``address`` means the target itself.
    """

    field: str
    values: tuple[Value, ...]
    address: str = ""


@dataclass(frozen=True, slots=True)
class Capability:
    """One setting of one or several things of a device.

    ``targets`` are addresses. ``words`` is the device's own plain name for a field that the catalogue doesn't know.
    ``revisions_synthesised`` says that the adapter, not the device, counts revisions. Several capabilities may stand
    for one setting of one target; the first whose conditions ``when`` all hold is in force. ``guarded`` settings are
    locked until a person unlocks their device: they may hurt somebody's hearing.
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
    guarded: bool = False
    when: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Argument:
    """What an act must or may be told. A ``secret`` one, such as a key, goes to the device and is kept nowhere."""

    name: str
    schema: ValueSchema
    unit: str = ""
    words: str = ""
    required: bool = False
    secret: bool = False


@dataclass(frozen=True, slots=True)
class ActCapability:
    """Something that can be done to one or several things of a device and that is no setting.

    ``act`` is one of ``ACTS`` or the device's own, with ``words`` then. It mutes for ``mutes_for_ms`` (0 where it
    doesn't), and ends within ``finish_within_ms`` of being accepted, hands and sleep aside. ``cancellable`` acts can be
    given up; those that report progress say so.
    """

    targets: tuple[str, ...]
    act: str
    words: str = ""
    arguments: tuple[Argument, ...] = ()
    mutes_for_ms: int = 0
    needs_awake: bool = False
    needs_hand: bool = False
    cancellable: bool = False
    progress: bool = False
    guarded: bool = False
    accept_within_ms: int = ACCEPT_WITHIN_MS
    finish_within_ms: int = 60_000


ACTS: dict[str, str] = {
    "identify": "show which one it is, with its lamp or display",
    "link": "link a pack",
    "make_key": "make a new key",
    "set_key": "put a key in",
    "erase_key": "erase the key",
    "tone": "send a test tone",
    "scan": "scan the spectrum",
    "restart": "restart",
}
"""The acts that everybody knows, in plain words; a device may have others."""


def in_force(candidates: Iterable[Capability], settings_of: Callable[[str], Mapping[str, Value]]) -> Capability | None:
    """The capability that holds now of those that stand for one setting of one target, or None: it isn't there now.

    ``settings_of`` gives the settings that an address has; it is asked with an empty address for the target itself.
    """
    for candidate in candidates:
        if all(settings_of(each.address).get(each.field) in each.values for each in candidate.when):
            return candidate
    return None


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
    if NUMBER_MAXIMUM < abs(value) < math.inf:  # Before isfinite, which takes no integer that a double can't hold.
        return f"must lie from {-NUMBER_MAXIMUM:g} to {NUMBER_MAXIMUM:g}"
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
