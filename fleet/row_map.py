"""The topology as index arrays over the rows of the live tables, so that whole columns can be followed at once.

A padded cell holds ``NO_ROW``. Made anew whenever the topology or the rows change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.readings import LiveTables
from fleet.show_rows import ShowRows, show_rows
from fleet.topology import Topology

NO_ROW = -1
_Scalar = TypeVar("_Scalar", bound=np.generic)


@dataclass(frozen=True, slots=True)
class RowMap:
    """Which rows belong together.

    ``device_row[place]`` is [row]; ``channel_rows[place]`` is [row, n], the channels that a row bears or serves;
    ``branch_rows[place]`` is [row, n] for carriers and channels, in the order of the description. ``described[place]``
    tells the rows that a device still has. ``pack_row`` and ``assigned`` are over the channels. ``show`` is what the
    production and the show clock say of now.
    """

    device_row: dict[Place, NDArray[np.intp]]
    channel_rows: dict[Place, NDArray[np.intp]]
    branch_rows: dict[Place, NDArray[np.intp]]
    described: dict[Place, NDArray[np.bool_]]
    pack_row: NDArray[np.intp]
    carrier_row: NDArray[np.intp]
    assigned: NDArray[np.bool_]
    show: ShowRows


def map_rows(topology: Topology, tables: LiveTables) -> RowMap:
    """The row map of that topology over those tables."""
    device_row, channel_rows, described = {}, {}, {}
    for place in Place:
        addresses = tables[place].addresses
        device_row[place] = _rows(tables, Place.DEVICE, [_device_of(topology, place, name) for name in addresses])
        channel_rows[place] = _ragged(tables, Place.CHANNEL, [topology.channels_of.get(name, ()) for name in addresses])
        described[place] = np.array(
            [place is Place.DEVICE or name in topology.device_of for name in addresses], dtype=np.bool_
        )
    channels = tables[Place.CHANNEL].addresses
    carrier_of = [topology.channels[name].carrier if name in topology.channels else None for name in channels]
    branches_of = {name: carrier.branches for name, carrier in topology.carriers.items()}
    carriers = tables[Place.CARRIER].addresses
    return RowMap(
        device_row=device_row,
        channel_rows=channel_rows,
        branch_rows={
            Place.CARRIER: _ragged(tables, Place.BRANCH, [branches_of.get(name, ()) for name in carriers]),
            Place.CHANNEL: _ragged(tables, Place.BRANCH, [branches_of.get(name or "", ()) for name in carrier_of]),
        },
        described=described,
        pack_row=_rows(tables, Place.PACK, [topology.pack_of_channel(name) for name in channels]),
        carrier_row=_rows(tables, Place.CARRIER, carrier_of),
        assigned=np.array([name in topology.assigned for name in channels], dtype=np.bool_),
        show=show_rows(topology, tables),
    )


def gather(column: NDArray[_Scalar], rows: NDArray[np.intp], absent: float) -> NDArray[_Scalar]:
    """``column`` at ``rows``, with ``absent`` where there is no row."""
    if column.size == 0:
        return np.full(rows.shape, absent, dtype=column.dtype)
    return np.where(rows == NO_ROW, absent, column[rows]).astype(column.dtype, copy=False)


def _device_of(topology: Topology, place: Place, address: str) -> str | None:
    return address if place is Place.DEVICE else topology.device_of.get(address)


def _rows(tables: LiveTables, place: Place, addresses: Sequence[str | None]) -> NDArray[np.intp]:
    found = (None if name is None else tables[place].row_of(name) for name in addresses)
    return np.array([NO_ROW if row is None else row for row in found], dtype=np.intp)


def _ragged(tables: LiveTables, place: Place, lists: Sequence[Sequence[str]]) -> NDArray[np.intp]:
    width = max((len(names) for names in lists), default=0)
    padded: list[str | None] = [name for names in lists for name in [*names, *[None] * (width - len(names))]]
    return _rows(tables, place, padded).reshape(len(lists), width)
