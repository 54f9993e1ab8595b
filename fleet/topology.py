"""What hangs on what: devices, carriers, branches, channels and packs, and the rows of the production.

Made of the devices' descriptions and the production. Whoever keeps one may put a device in or take one out in place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fleet.model.address import Place
from fleet.model.capability import ActCapability, Capability
from fleet.model.description import addresses_in
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.model.production import NO_PRODUCTION, Position, Production


@dataclass(frozen=True, slots=True)
class Topology:
    """The whole fleet's wiring, by address.

    ``device_of`` names the device that reports a thing and holds its settings. ``capabilities`` are those of each
    setting of a thing, of which the first whose conditions hold is in force, and ``numbers`` their places in the
    description; ``acts`` is what can be done to it; ``conditional`` are the devices of which some capability hangs on a
    setting. ``channels_of`` knows the production's
    channels too, so that a device that was never heard still has its rows. ``assigned`` are the channels of a position
    that isn't a spare. ``path_of`` names the antenna path of a branch and ``rack_of`` the rack of a device, as far as
    the production says.
    """

    production: Production = NO_PRODUCTION
    device_of: dict[str, str] = field(default_factory=dict)
    place_of: dict[str, Place] = field(default_factory=dict)
    carriers: dict[str, CarrierDescription] = field(default_factory=dict)
    channels: dict[str, ChannelDescription] = field(default_factory=dict)
    channels_of: dict[str, tuple[str, ...]] = field(default_factory=dict)
    capabilities: dict[str, dict[str, tuple[Capability, ...]]] = field(default_factory=dict)
    numbers: dict[str, dict[str, tuple[int, ...]]] = field(default_factory=dict)
    acts: dict[str, dict[str, ActCapability]] = field(default_factory=dict)
    conditional: set[str] = field(default_factory=set)
    positions: dict[str, Position] = field(default_factory=dict)
    assigned: frozenset[str] = frozenset()
    path_of: dict[str, str] = field(default_factory=dict)
    rack_of: dict[str, str] = field(default_factory=dict)

    def pack_of_channel(self, channel: str) -> str | None:
        """The pack that the device has linked to the channel, else the one that the production gives it."""
        described = self.channels.get(channel)
        if described is not None and described.pack is not None:
            return described.pack
        position = self.positions.get(channel)
        return None if position is None else position.pack


def build_topology(descriptions: Mapping[str, DeviceDescription], production: Production) -> Topology:
    """The topology of those devices, given in the order in which they were first heard."""
    positions = {position.channel: position for position in production.positions}
    assigned = frozenset(position.channel for position in production.positions if not position.spare)
    paths = {branch: path.feed for path in production.antenna_paths for branch in path.branches}
    racks = {device_id: rack.name for rack in production.racks for device_id in rack.devices}
    topology = Topology(production, positions=positions, assigned=assigned, path_of=paths, rack_of=racks)
    for description in descriptions.values():
        add_device(topology, description)
    topology.channels_of.update(_channels_of(topology))
    return topology


def add_device(topology: Topology, description: DeviceDescription) -> None:
    """Put in all that a device names, but for ``channels_of``. What another device named before stays that device's."""
    for place, address in addresses_in(description):
        topology.device_of.setdefault(address, description.device_id)
        topology.place_of.setdefault(address, place)
    topology.carriers.update((carrier.address, carrier) for carrier in description.carriers)
    topology.channels.update((channel.address, channel) for channel in description.channels)
    for number, capability in enumerate(description.capabilities):
        for target in capability.targets:
            if topology.device_of.get(target) == description.device_id:
                of_target = topology.capabilities.setdefault(target, {})
                of_target[capability.field] = (*of_target.get(capability.field, ()), capability)
                numbers = topology.numbers.setdefault(target, {})
                numbers[capability.field] = (*numbers.get(capability.field, ()), number)
                if capability.when:
                    topology.conditional.add(description.device_id)
    for act in description.acts:
        for target in act.targets:
            if topology.device_of.get(target) == description.device_id:
                topology.acts.setdefault(target, {}).setdefault(act.act, act)


def take_out_device(topology: Topology, description: DeviceDescription) -> None:
    """Undo ``add_device`` for a device whose addresses no other device names."""
    for _, address in addresses_in(description):
        for known in (topology.device_of, topology.place_of, topology.capabilities, topology.numbers, topology.acts):
            known.pop(address, None)
    for carrier in description.carriers:
        del topology.carriers[carrier.address]
    for channel in description.channels:
        del topology.channels[channel.address]
    topology.conditional.discard(description.device_id)


def _channels_of(topology: Topology) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for channel in dict.fromkeys([*topology.channels, *topology.positions]):
        found[channel] = [channel]
        found.setdefault(channel.partition("/")[0], []).append(channel)
        pack = topology.pack_of_channel(channel)
        if pack is not None:
            found.setdefault(pack, []).append(channel)
    for carrier in topology.carriers.values():
        borne = [name for name in carrier.channels if name in topology.channels]
        found.update((address, borne) for address in (carrier.address, *carrier.branches))
    return {address: tuple(names) for address, names in found.items()}
