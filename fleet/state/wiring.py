"""The topology as devices come and go: one more costs what that one names, however many are there already.

Five hundred devices that come back at once would otherwise make the whole anew five hundred times, on the live loop.
"""

from __future__ import annotations

from collections.abc import Iterable
from sys import maxsize

from fleet.model.device import CarrierDescription, DeviceDescription
from fleet.model.production import Production
from fleet.topology import Topology, add_device, build_topology, take_out_device

_AFTER_ALL_HEARD = maxsize


class Wiring:
    """The descriptions in force, in the order in which their devices were first heard, and the topology of them.

    The topology is always what ``build_topology`` makes of the same. Descriptions must have been checked, and no two
    may name one address: the shape sees to both. The topology is edited in place, so whoever derives something from
    it must be told when it changes; another production puts a new one in its place.
    """

    def __init__(self) -> None:
        self.descriptions: dict[str, DeviceDescription] = {}
        self.topology = Topology()
        self._heard = 0
        self._turn_of: dict[str, int] = {}
        self._rank_of: dict[str, tuple[int, int]] = {}
        self._planned_rank_of: dict[str, tuple[int, int]] = {}
        self._borne_by: dict[str, tuple[str, ...]] = {}
        self._related: dict[str, set[str]] = {}

    def set_production(self, production: Production) -> None:
        """Make everything anew for another production."""
        topology = self.topology = build_topology(self.descriptions, production)
        self._planned_rank_of = {name: (_AFTER_ALL_HEARD, place) for place, name in enumerate(topology.positions)}
        self._rank_of = dict(self._planned_rank_of)
        for description in self.descriptions.values():
            self._rank(description)
        self._related = {}
        self._relate(self._rank_of)

    def put(self, description: DeviceDescription) -> None:
        """Put a description in place; a device that had one before keeps its place in the order."""
        device_id = description.device_id
        if device_id not in self._turn_of:
            self._turn_of[device_id] = self._heard
            self._heard += 1
        self._replace(self.descriptions.get(device_id), description)
        self.descriptions[device_id] = description

    def take_out(self, device_id: str) -> bool:
        """Let go of a device; false when it has no description. Heard once more, it comes last."""
        before = self.descriptions.pop(device_id, None)
        if before is None:
            return False
        del self._turn_of[device_id]
        self._replace(before, None)
        return True

    def _replace(self, before: DeviceDescription | None, after: DeviceDescription | None) -> None:
        both = [each for each in (before, after) if each is not None]
        channels = {channel.address for each in both for channel in each.channels}
        touched = {address for each in both for carrier in each.carriers for address in _sockets(carrier)}
        touched |= self._unrelate(channels)
        if before is not None:
            take_out_device(self.topology, before)
            self._unrank(before)
        if after is not None:
            add_device(self.topology, after)
            self._rank(after)
        touched |= self._relate(channels & self._rank_of.keys())
        for address in touched:
            self._gather(address)

    def _rank(self, description: DeviceDescription) -> None:
        """Note where each channel stands among all, and what each carrier bears."""
        turn = self._turn_of[description.device_id]
        self._rank_of.update((each.address, (turn, place)) for place, each in enumerate(description.channels))
        for carrier in description.carriers:
            self._borne_by.update(dict.fromkeys(_sockets(carrier), carrier.channels))

    def _unrank(self, description: DeviceDescription) -> None:
        for channel in description.channels:
            del self._rank_of[channel.address]
            if channel.address in self._planned_rank_of:
                self._rank_of[channel.address] = self._planned_rank_of[channel.address]
        for carrier in description.carriers:
            for address in _sockets(carrier):
                del self._borne_by[address]

    def _relate(self, channels: Iterable[str]) -> set[str]:
        """Note each channel at every address that it may be found by; returns those addresses."""
        touched = set()
        for channel in channels:
            for address in self._found_by(channel):
                self._related.setdefault(address, set()).add(channel)
                touched.add(address)
        return touched

    def _unrelate(self, channels: set[str]) -> set[str]:
        touched = {address for channel in channels for address in self._found_by(channel)}
        for address in touched:
            related = self._related.get(address, set())
            related -= channels
            if not related:
                self._related.pop(address, None)
        return touched

    def _found_by(self, channel: str) -> tuple[str, ...]:
        pack = self.topology.pack_of_channel(channel)
        return (channel, channel.partition("/")[0], *(() if pack is None else (pack,)))

    def _gather(self, address: str) -> None:
        """Find the channels of one address anew, in the order of all channels."""
        borne, related = self._borne_by.get(address), self._related.get(address, set())
        if borne is not None:
            self.topology.channels_of[address] = borne
        elif address in related:
            self.topology.channels_of[address] = (address,)
        elif related:
            self.topology.channels_of[address] = tuple(sorted(related, key=self._rank_of.__getitem__))
        else:
            self.topology.channels_of.pop(address, None)


def _sockets(carrier: CarrierDescription) -> tuple[str, ...]:
    return (carrier.address, *carrier.branches)
