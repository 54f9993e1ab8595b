"""Whether a description of a device makes sense as a whole; its shape was checked when it was read."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable
from dataclasses import replace

from fleet.errors import MalformedMessage
from fleet.model.address import Place, parse_address
from fleet.model.capability import Capability, problem_with
from fleet.model.device import DeviceDescription

THINGS_MAXIMUM = 4096
WITHIN_MAXIMUM_MS = 12 * 3_600_000
"""No device may take longer than twelve hours to accept or to confirm."""


def addresses_of(description: DeviceDescription) -> frozenset[str]:
    """Every address that the device may speak of."""
    return frozenset(_named(description))


def check_description(description: DeviceDescription, device_id: str) -> frozenset[str]:
    """The addresses that the description names.

    Raises MalformedMessage when it is another device's, names something twice, or names something it can't own.
    """
    if description.device_id != device_id:
        raise MalformedMessage(f"{device_id} describes itself as {description.device_id[:64]!r}")
    named = list(_named(description))
    if len(named) > THINGS_MAXIMUM:
        raise MalformedMessage(f"a description of {len(named)} things; at most {THINGS_MAXIMUM}")
    known = frozenset(named)
    if len(known) != len(named):
        twice = next(address for address in named if named.count(address) > 1)
        raise MalformedMessage(f"the description names {twice[:64]!r} twice")
    _check_owned(description, device_id)
    _check_references(description, known)
    for capability in description.capabilities:
        _check_capability(capability)
    return known


def _named(description: DeviceDescription) -> Iterable[str]:
    yield description.device_id
    for carrier in description.carriers:
        yield carrier.address
        yield from carrier.branches
    yield from (channel.address for channel in description.channels)
    yield from description.packs


def _check_owned(description: DeviceDescription, device_id: str) -> None:
    for carrier in description.carriers:
        _check_place(carrier.address, Place.CARRIER, device_id)
        for branch in carrier.branches:
            _check_place(branch, Place.BRANCH, device_id)
            if not branch.startswith(f"{carrier.address}/"):
                raise MalformedMessage(f"{branch!r} is no branch of {carrier.address}")
    for channel in description.channels:
        _check_place(channel.address, Place.CHANNEL, device_id)
    for pack in description.packs:
        _check_place(pack, Place.PACK, "")


def _check_place(address: str, place: Place, device_id: str) -> None:
    try:
        parsed = parse_address(address[:512])
    except ValueError as error:
        raise MalformedMessage(f"the description names {error}") from error
    if (parsed.place, parsed.device_id) != (place, device_id):
        raise MalformedMessage(f"{address!r} is no {place.value} of {device_id or 'anybody'}")


def _check_references(description: DeviceDescription, known: frozenset[str]) -> None:
    carriers = {carrier.address for carrier in description.carriers}
    channels = {channel.address for channel in description.channels}
    referred: list[tuple[str, Container[str]]] = [(channel.carrier, carriers) for channel in description.channels]
    referred += [(channel, channels) for carrier in description.carriers for channel in carrier.channels]
    referred += [(target, known) for capability in description.capabilities for target in capability.targets]
    for address, where in referred:
        if address not in where:
            raise MalformedMessage(f"the description refers to {address[:64]!r}, which it doesn't describe")


def _check_capability(capability: Capability) -> None:
    schema, field = capability.schema, capability.field[:64]
    if schema.multiple_of is not None and not 0.0 < schema.multiple_of < math.inf:
        raise MalformedMessage(f"{field}: a step of {schema.multiple_of:g}; it must be greater than zero")
    least, most = schema.minimum, schema.maximum
    if least is not None and most is not None and least > most:
        raise MalformedMessage(f"{field}: nothing lies from {least:g} to {most:g}")
    if schema.maximum_length < 0:
        raise MalformedMessage(f"{field}: a text of at most {schema.maximum_length} characters")
    for choice in schema.enum:
        problem = problem_with(replace(schema, enum=()), choice)
        if problem is not None:
            raise MalformedMessage(f"{field}: the choice {str(choice)[:64]!r} {problem}")
    for within_ms in (capability.accept_within_ms, capability.confirm_within_ms):
        if not 0 < within_ms <= WITHIN_MAXIMUM_MS:
            raise MalformedMessage(f"{field}: an answer within {within_ms} ms; it must be 1 to {WITHIN_MAXIMUM_MS}")
