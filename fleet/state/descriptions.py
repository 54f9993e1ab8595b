"""What devices say of their own shape, checked before any of it is believed.

A description may name only things under its own device id and packs that no other device holds, so that a device that
errs or lies can't reach another's rows.
"""

from __future__ import annotations

from collections.abc import Iterable

from fleet.model.address import Place, is_device_id, parse_address
from fleet.model.device import DeviceDescription
from fleet.topology import addresses_in

THINGS_MAXIMUM = 1_024
"""Carriers, branches, channels and packs of one device."""
CAPABILITIES_MAXIMUM = 4_096


def problem_with_description(device_id: str, description: DeviceDescription, holders: dict[str, str]) -> str | None:
    """Why the description can't be believed, in words, or None. ``holders`` names the device of each address."""
    if description.device_id != device_id or not is_device_id(device_id):
        return f"{device_id} described itself as {description.device_id!r}"
    addresses = list(addresses_in(description))
    if len(addresses) > THINGS_MAXIMUM or len(description.capabilities) > CAPABILITIES_MAXIMUM:
        return f"more than {THINGS_MAXIMUM} things or {CAPABILITIES_MAXIMUM} capabilities"
    seen: set[str] = set()
    for place, address in addresses:
        problem = _address_problem(device_id, place, address)
        if problem is None and address in seen:
            problem = f"{address} is named twice"
        if problem is None and holders.get(address, device_id) != device_id:
            problem = f"{address} is held by {holders[address]} already"
        if problem is not None:
            return problem
        seen.add(address)
    return _wiring_problem(description, seen)


def _address_problem(device_id: str, place: Place, address: str) -> str | None:
    try:
        parsed = parse_address(address)
    except ValueError as error:
        return str(error)
    if parsed.place is not place:
        return f"{address} is not the address of a {place}"
    if parsed.device_id not in ("", device_id):
        return f"{address} is not under {device_id}"
    return None


def _wiring_problem(description: DeviceDescription, own: set[str]) -> str | None:
    for carrier in description.carriers:
        if any(not branch.startswith(f"{carrier.address}/branch/") for branch in carrier.branches):
            return f"{carrier.address} names a branch that is not its own"
    referred: Iterable[str] = [
        *(name for carrier in description.carriers for name in carrier.channels),
        *(channel.carrier for channel in description.channels),
    ]
    for name in referred:
        if name not in own:
            return f"{name} is referred to and not described"
    return None
