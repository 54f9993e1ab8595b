"""The shape of the fleet: which device has what, and which rows belong to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fleet.errors import LimitReached
from fleet.model.address import Place, parse_address
from fleet.model.description import addresses_in, problem_with_description, with_ears_guarded
from fleet.model.device import DeviceDescription
from fleet.model.production import NO_PRODUCTION, Production
from fleet.readings import LiveTables
from fleet.row_map import RowMap, map_rows
from fleet.state.wiring import Wiring
from fleet.topology import Topology

ROWS_OF_ONE_DEVICE_MAXIMUM = 1_536
"""Things that one device may name anew in one epoch: no row is used again, and one device must leave room for others.

It is room for the greatest description and half of another that has nothing in common with it. Ten devices that take
all of it still leave 4,640 rows of every table: a thousand channels with four branches each.
"""


@dataclass(frozen=True, slots=True)
class Described:
    """What became of a description.

    ``refused`` says in words why none of it is believed. ``disputed`` are packs in it that another device holds; the
    rest is believed without them. ``changed`` is false when what is believed is what was before.
    """

    refused: str | None = None
    disputed: tuple[str, ...] = ()
    changed: bool = False


class Shape:
    """The devices' descriptions and the production, with what follows from them.

    ``holders`` names the device that reports an address. The row map is made when it is next asked for.
    """

    def __init__(self, tables: LiveTables) -> None:
        self._tables = tables
        self._wiring = Wiring()
        self._rows_named: dict[str, int] = {}
        self.holders: dict[str, str] = {}
        self.production = NO_PRODUCTION
        self._row_map: tuple[int, RowMap] | None = None

    @property
    def topology(self) -> Topology:
        """The fleet's wiring as it is now."""
        return self._wiring.topology

    @property
    def row_map(self) -> RowMap:
        """The wiring as index arrays over the tables' rows."""
        if self._row_map is None or self._row_map[0] != self._tables.version:
            self._row_map = (self._tables.version, map_rows(self.topology, self._tables))
        return self._row_map[1]

    def description(self, device_id: str) -> DeviceDescription | None:
        """How the device describes itself, or None before it was heard."""
        return self._wiring.descriptions.get(device_id)

    def set_production(self, production: Production) -> None:
        """Put another production in place; its channels get rows, heard or not.

        Raises LimitReached, with nothing changed, when there are too many.
        """
        self._tables.append((Place.CHANNEL, each.channel) for each in production.positions if _is_channel(each.channel))
        self.production = production
        self._wiring.set_production(production)
        self.rewire()

    def describe(self, device_id: str, said: DeviceDescription) -> Described:
        """Believe a description, as far as no other device has a claim to what it names."""
        problem = problem_with_description(said, device_id)
        if problem is not None:
            return Described(refused=problem)
        said = with_ears_guarded(said)
        disputed = tuple(pack for pack in said.packs if self.holders.get(pack, device_id) != device_id)
        description = _without(said, disputed)
        if description == self._wiring.descriptions.get(device_id):
            return Described(disputed=disputed)
        refused = self._make_rows(device_id, description)
        if refused is not None:
            return Described(refused=refused)
        named = [address for _, address in addresses_in(description)]
        self._let_go(set(self.addresses_of(device_id)) - set(named))
        self._wiring.put(description)
        self.holders.update((address, device_id) for address in named)
        self.rewire()
        return Described(disputed=disputed, changed=True)

    def forget(self, device_id: str) -> None:
        """Let go of everything that the device reported; its rows stay, without values."""
        if self._wiring.take_out(device_id):
            self._let_go({address for address, holder in self.holders.items() if holder == device_id})
        self.rewire()

    def _make_rows(self, device_id: str, description: DeviceDescription) -> str | None:
        """Make the rows that are missing, or say in words why there is no room for them."""
        wanted = list(addresses_in(description))
        more = sum(1 for place, address in wanted if self._tables[place].row_of(address) is None)
        named = self._rows_named.get(device_id, 0) + more
        if named > ROWS_OF_ONE_DEVICE_MAXIMUM:
            return (
                f"it named more than {ROWS_OF_ONE_DEVICE_MAXIMUM} things by and by; restart the console to forget them"
            )
        try:
            self._tables.append(wanted)
        except LimitReached as limit:
            return str(limit)
        self._rows_named[device_id] = named
        return None

    def addresses_of(self, device_id: str) -> tuple[str, ...]:
        """Everything that the device reports, itself first; empty before it was heard."""
        description = self._wiring.descriptions.get(device_id)
        return () if description is None else tuple(address for _, address in addresses_in(description))

    def may_be(self, address: str, watched: frozenset[str]) -> bool:
        """Whether something is at that address, or may yet be described there by a device that is watched."""
        try:
            parsed = parse_address(address)
        except ValueError:
            return False
        may_describe = watched if parsed.place is Place.PACK else watched & {parsed.device_id}
        has_row = self._tables[parsed.place].row_of(address) is not None
        return has_row or any(self.description(device_id) is None for device_id in may_describe)

    def doubt(self, device_id: str) -> None:
        """Let nothing that the device reported stay good. The age of the contact is the console's own and stays."""
        for place, rows in self._rows_of(self.addresses_of(device_id)):
            if place is not Place.DEVICE:
                self._tables[place].doubt(rows)

    def _let_go(self, addresses: set[str]) -> None:
        for place, rows in self._rows_of(addresses):
            self._tables[place].forget(rows)
        for address in addresses:
            del self.holders[address]

    def _rows_of(self, addresses: Iterable[str]) -> list[tuple[Place, NDArray[np.intp]]]:
        rows: dict[Place, list[int]] = {}
        for address in addresses:
            place = parse_address(address).place
            row = self._tables[place].row_of(address)
            if row is not None:
                rows.setdefault(place, []).append(row)
        return [(place, np.array(found, dtype=np.intp)) for place, found in rows.items()]

    def rewire(self) -> None:
        """Make the row map anew when it is next asked for."""
        self._row_map = None


def _without(description: DeviceDescription, packs: tuple[str, ...]) -> DeviceDescription:
    """The description as if it didn't name those packs as its own."""
    if not packs:
        return description
    offered = (
        replace(each, targets=tuple(target for target in each.targets if target not in packs))
        for each in description.capabilities
    )
    return replace(
        description,
        packs=tuple(pack for pack in description.packs if pack not in packs),
        capabilities=tuple(each for each in offered if each.targets),
    )


def _is_channel(address: str) -> bool:
    try:
        return parse_address(address).place is Place.CHANNEL
    except ValueError:
        return False
