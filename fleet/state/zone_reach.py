"""Which zones of the production a thing serves: whoever writes to it writes in all of them."""

from __future__ import annotations

from fleet.model.address import Place
from fleet.topology import Topology


def zones_of(address: str, topology: Topology) -> tuple[str, ...]:
    """The zones of the channels that hang on an address, each once; none when the production has none of them.

    A channel, carrier, branch or pack serves the channels it bears. A device serves all of its channels, and so do its
    outputs and bays, which tell nothing of their own. An input of a distribution serves the channels of the branches
    that the production hangs on it, and the distribution those of all its inputs.
    """
    channels = _channels_of(address, topology)
    found = (topology.positions[channel].zone for channel in channels if channel in topology.positions)
    return tuple(dict.fromkeys(found))


def _channels_of(address: str, topology: Topology) -> list[str]:
    direct = [*topology.channels_of.get(address, ())]
    place = topology.place_of.get(address)
    if place in (Place.OUTPUT, Place.BAY):
        direct += topology.channels_of.get(topology.device_of[address], ())
    return [*direct, *_channels_fed_by(address, topology)]


def _channels_fed_by(address: str, topology: Topology) -> list[str]:
    """The channels whose branches hang on an input that is this one, or belongs to this device."""
    found: list[str] = []
    for path in topology.production.antenna_paths:
        if path.input is not None and (path.input == address or path.input.startswith(f"{address}/")):
            for branch in path.branches:
                found += topology.channels_of.get(branch, ())
    return found
