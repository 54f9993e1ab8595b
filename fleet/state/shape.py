"""The shape of the fleet: which device has what, and which rows belong to it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from fleet.errors import LimitReached
from fleet.model.address import Place, parse_address
from fleet.model.device import DeviceDescription
from fleet.model.production import NO_PRODUCTION, Production
from fleet.readings import LiveTables
from fleet.row_map import RowMap, map_rows
from fleet.state.descriptions import problem_with_description
from fleet.topology import Topology, addresses_in, build_topology


class Shape:
    """The devices' descriptions and the production, with what follows from them.

    ``holders`` names the device that reports an address. Topology and row map are made when they are next asked for.
    """

    def __init__(self, tables: LiveTables) -> None:
        self._tables = tables
        self._descriptions: dict[str, DeviceDescription] = {}
        self.holders: dict[str, str] = {}
        self.production = NO_PRODUCTION
        self._topology: Topology | None = None
        self._row_map: tuple[int, RowMap] | None = None

    @property
    def topology(self) -> Topology:
        """The fleet's wiring as it is now."""
        if self._topology is None:
            self._topology = build_topology(self._descriptions, self.production)
        return self._topology

    @property
    def row_map(self) -> RowMap:
        """The wiring as index arrays over the tables' rows."""
        if self._row_map is None or self._row_map[0] != self._tables.version:
            self._row_map = (self._tables.version, map_rows(self.topology, self._tables))
        return self._row_map[1]

    def description(self, device_id: str) -> DeviceDescription | None:
        """How the device describes itself, or None before it was heard."""
        return self._descriptions.get(device_id)

    def set_production(self, production: Production) -> None:
        """Put another production in place; its channels get rows, heard or not.

        Raises LimitReached, with nothing changed, when there are too many.
        """
        self._tables.append((Place.CHANNEL, each.channel) for each in production.positions if _is_channel(each.channel))
        self.production = production
        self._rewire()

    def describe(self, device_id: str, description: DeviceDescription) -> str | None:
        """Believe a description, or say in words why it can't be believed."""
        problem = problem_with_description(device_id, description, self.holders)
        if problem is not None:
            return problem
        try:
            self._tables.append(addresses_in(description))
        except LimitReached as limit:
            return str(limit)
        named = [address for _, address in addresses_in(description)]
        self._let_go(set(self.addresses_of(device_id)) - set(named))
        self._descriptions[device_id] = description
        self.holders.update((address, device_id) for address in named)
        self._rewire()
        return None

    def addresses_of(self, device_id: str) -> tuple[str, ...]:
        """Everything that the device reports, itself first; empty before it was heard."""
        description = self._descriptions.get(device_id)
        return () if description is None else tuple(address for _, address in addresses_in(description))

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

    def _rewire(self) -> None:
        self._topology = None
        self._row_map = None


def _is_channel(address: str) -> bool:
    try:
        return parse_address(address).place is Place.CHANNEL
    except ValueError:
        return False
