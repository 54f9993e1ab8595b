"""Whether what a device says of its own shape makes sense, checked in full before any of it is believed.

A description may name only things under its own device id, and packs, so that a device that errs or lies can't reach
another's rows. Who holds a pack that several name is the state's to say.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from dataclasses import replace

from fleet.model.address import Place, parse_address
from fleet.model.capability import NUMBER_MAXIMUM, ActCapability, Capability, ValueSchema, problem_with
from fleet.model.device import DeviceDescription
from fleet.model.secret_names import names_a_secret

THINGS_MAXIMUM = 1_024
"""Everything of one device that has an address, the device itself included."""
CAPABILITIES_MAXIMUM = 4_096
"""Capabilities of settings and of acts together."""
WITHIN_MAXIMUM_MS = 12 * 3_600_000
"""No device may take longer than twelve hours to accept or to confirm, or ask for so long a pause between writes."""
STEP_MINIMUM = 1e-9
"""With this and the greatest number every step can be counted in a double."""
ARGUMENTS_MAXIMUM = 32
"""Arguments of one act."""
IN_EAR = "in-ear transmitter"
_HARMLESS_ACTS = frozenset({"identify", "restart"})
_SAID_LENGTH = 64


def addresses_in(description: DeviceDescription) -> Iterator[tuple[Place, str]]:
    """Every address that a description names as the device's own, the device first."""
    yield Place.DEVICE, description.device_id
    for carrier in description.carriers:
        yield Place.CARRIER, carrier.address
        for branch in carrier.branches:
            yield Place.BRANCH, branch
    for channel in description.channels:
        yield Place.CHANNEL, channel.address
    for pack in description.packs:
        yield Place.PACK, pack
    for output in description.outputs:
        yield Place.OUTPUT, output.address
    for socket in description.inputs:
        yield Place.INPUT, socket
    for bay in description.bays:
        yield Place.BAY, bay


def problem_with_description(description: DeviceDescription, device_id: str) -> str | None:
    """Why the description of that device makes no sense, in words, or None when it does."""
    return next(_problems(description, device_id), None)


def _problems(description: DeviceDescription, device_id: str) -> Iterator[str]:
    if description.device_id != device_id:
        yield f"{device_id} describes itself as {_said(description.device_id)}"
    named = list(addresses_in(description))
    if len(named) > THINGS_MAXIMUM or _offered(description) > CAPABILITIES_MAXIMUM:
        yield f"it names more than {THINGS_MAXIMUM} things or {CAPABILITIES_MAXIMUM} capabilities"
        return
    yield from _address_problems(named, device_id)
    yield from _wiring_problems(description, frozenset(address for _, address in named))
    for capability in description.capabilities:
        yield from _capability_problems(capability)
        yield from _condition_problems(capability, frozenset(address for _, address in named))
    for act in description.acts:
        yield from _act_problems(act)


def _offered(description: DeviceDescription) -> int:
    return len(description.capabilities) + len(description.acts)


def _address_problems(named: Iterable[tuple[Place, str]], device_id: str) -> Iterator[str]:
    seen: set[str] = set()
    for place, address in named:
        if address in seen:
            yield f"it names {_said(address)} twice"
        seen.add(address)
        yield from _place_problems(place, address, "" if place is Place.PACK else device_id)


def _place_problems(place: Place, address: str, device_id: str) -> Iterator[str]:
    try:
        parsed = parse_address(address[:512])
    except ValueError as error:
        yield f"it names {error}"
        return
    if (parsed.place, parsed.device_id) != (place, device_id):
        yield f"{_said(address)} is no {place.value} of {device_id or 'anybody'}"


def _wiring_problems(description: DeviceDescription, own: frozenset[str]) -> Iterator[str]:
    carriers = {carrier.address for carrier in description.carriers}
    channels = {channel.address for channel in description.channels}
    referred: list[tuple[str, Container[str]]] = [(channel.carrier, carriers) for channel in description.channels]
    referred += [(channel, channels) for carrier in description.carriers for channel in carrier.channels]
    offered: tuple[Capability | ActCapability, ...] = (*description.capabilities, *description.acts)
    referred += [(target, own) for each in offered for target in each.targets]
    for address, where in referred:
        if address not in where:
            yield f"it refers to {_said(address)} and doesn't describe it"
    for carrier in description.carriers:
        for branch in carrier.branches:
            if not branch.startswith(f"{carrier.address}/branch/"):
                yield f"{_said(branch)} is no branch of {carrier.address}"
    for channel in description.channels:
        if channel.pack is not None:
            yield from _place_problems(Place.PACK, channel.pack, "")


def _capability_problems(capability: Capability) -> Iterator[str]:
    field = capability.field[:_SAID_LENGTH]
    if names_a_secret(field):
        yield f"{field}: a key, token or password is no setting; it goes in by an act and never comes out"
    for problem in _schema_problems(capability.schema):
        yield f"{field}: {problem}"
    yield from _within_problems(field, capability.accept_within_ms, capability.confirm_within_ms)
    if not 0 <= capability.fastest_interval_ms <= WITHIN_MAXIMUM_MS:
        yield f"{field}: a pause of {_said(capability.fastest_interval_ms)} ms; it must be 0 to {WITHIN_MAXIMUM_MS}"


def _within_problems(name: str, *withins_ms: int) -> Iterator[str]:
    for within_ms in withins_ms:
        if not 0 < within_ms <= WITHIN_MAXIMUM_MS:
            yield f"{name}: an answer within {_said(within_ms)} ms; it must be 1 to {WITHIN_MAXIMUM_MS}"


def _condition_problems(capability: Capability, own: frozenset[str]) -> Iterator[str]:
    for condition in capability.when:
        field = capability.field[:_SAID_LENGTH]
        if condition.address and condition.address not in own:
            yield f"{field}: it hangs on {_said(condition.address)}, which the device doesn't describe"
        if not condition.values:
            yield f"{field}: it hangs on {_said(condition.field)}, and on no value of it"


def _act_problems(act: ActCapability) -> Iterator[str]:
    name = act.act[:_SAID_LENGTH]
    yield from _within_problems(name, act.accept_within_ms, act.finish_within_ms)
    if not 0 <= act.mutes_for_ms <= WITHIN_MAXIMUM_MS:
        yield f"{name}: silence of {_said(act.mutes_for_ms)} ms; it must be 0 to {WITHIN_MAXIMUM_MS}"
    names = [argument.name for argument in act.arguments]
    if len(set(names)) != len(names) or len(names) > ARGUMENTS_MAXIMUM:
        yield f"{name}: it takes an argument twice, or more than {ARGUMENTS_MAXIMUM} of them"
    for argument in act.arguments:
        if names_a_secret(argument.name) and not argument.secret:
            yield f"{name}: {argument.name[:_SAID_LENGTH]} is no secret to it, and must be one"
        for problem in _schema_problems(argument.schema):
            yield f"{name}: {argument.name[:_SAID_LENGTH]}: {problem}"


def _schema_problems(schema: ValueSchema) -> Iterator[str]:
    step, least, most = schema.multiple_of, schema.minimum, schema.maximum
    if step is not None and not STEP_MINIMUM <= step <= NUMBER_MAXIMUM:
        yield f"a step of {_said(step)}; it must be {STEP_MINIMUM:g} to {NUMBER_MAXIMUM:g}"
    numbers = [each for each in (least, most, *schema.enum) if isinstance(each, int | float)]
    if not all(-NUMBER_MAXIMUM <= each <= NUMBER_MAXIMUM for each in numbers):
        yield f"a number beyond {NUMBER_MAXIMUM:g}"
        return
    if least is not None and most is not None and least > most:
        yield f"nothing lies from {least:g} to {most:g}"
    if schema.maximum_length < 0:
        yield f"a text of at most {schema.maximum_length} characters"
    for choice in schema.enum:
        problem = problem_with(replace(schema, enum=()), choice)
        if problem is not None:
            yield f"the choice {_said(choice)} {problem}"


def _said(value: object) -> str:
    """What the device said, short enough for a sentence."""
    return repr(value)[: _SAID_LENGTH + 2]


def with_ears_guarded(description: DeviceDescription) -> DeviceDescription:
    """The description of an in-ear transmitter with all that could hurt hearing locked, whatever the device says of it.

    Everything can, but a name, and the acts that only show or restart it.
    """
    if description.kind != IN_EAR:
        return description
    return replace(
        description,
        capabilities=tuple(replace(each, guarded=each.field != "name") for each in description.capabilities),
        acts=tuple(replace(each, guarded=each.act not in _HARMLESS_ACTS) for each in description.acts),
    )
