"""What the production and the show clock say of now, as arrays over the rows of the live tables.

Without a running order, and before and after it, every row that isn't a spare is on air.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.readings import LiveTables
from fleet.topology import Topology

NOT_OVERDUE_S = -1.0


@dataclass(frozen=True, slots=True)
class ShowRows:
    """``on_air`` and ``resting`` (asleep by plan) are over the channels, the others over the packs.

    ``needed_min`` is NaN where no running order says how long cells must last. ``wake_overdue_s`` is less than 0 where
    no wake is overdue.
    """

    on_air: NDArray[np.bool_]
    resting: NDArray[np.bool_]
    needed_min: NDArray[np.float64]
    wake_overdue_s: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ShowNow:
    """What holds now, by the numbers of the production's rows. ``needed_min`` is None without a running order.

    ``wake_overdue_s`` is by pack: a pack that is asleep and due says so itself, whatever its row.
    """

    on_air: Collection[int]
    resting: Collection[int] = ()
    needed_min: Mapping[int, float] | None = None
    wake_overdue_s: Mapping[str, float] | None = None


def show_rows(topology: Topology, tables: LiveTables, now: ShowNow | None = None) -> ShowRows:
    """Those arrays; ``now`` is None for a day without a running order."""
    channels, packs = tables[Place.CHANNEL].addresses, tables[Place.PACK].addresses
    if now is None:
        on_air = np.array([name in topology.assigned for name in channels], dtype=np.bool_)
        none = np.zeros(len(channels), dtype=np.bool_)
        return ShowRows(on_air, none, np.full(len(packs), np.nan), np.full(len(packs), NOT_OVERDUE_S))
    numbers = [position.number if (position := topology.positions.get(name)) else 0 for name in channels]
    overdue = now.wake_overdue_s or {}
    return ShowRows(
        on_air=np.array([number in now.on_air for number in numbers], dtype=np.bool_),
        resting=np.array([number in now.resting for number in numbers], dtype=np.bool_),
        needed_min=_needed(topology, packs, now.needed_min),
        wake_overdue_s=np.array([overdue.get(pack, NOT_OVERDUE_S) for pack in packs], dtype=np.float64),
    )


def _needed(topology: Topology, packs: Collection[str], needed: Mapping[int, float] | None) -> NDArray[np.float64]:
    if needed is None:
        return np.full(len(packs), np.nan)
    number_of = {position.pack: position.number for position in topology.positions.values() if position.pack}
    found = (number_of.get(pack) for pack in packs)
    return np.array([np.nan if one is None else needed.get(one, 0.0) for one in found], dtype=np.float64)
