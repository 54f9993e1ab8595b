"""What else is true of each row while rules are evaluated: on air, asleep, unassigned, out of contact."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.fields import GOODBYES
from fleet.model.quality import Quality
from fleet.model.rule import Suppressor
from fleet.readings import LiveTables
from fleet.row_map import NO_ROW, RowMap, gather

Mask = NDArray[np.bool_]
_STANDBY = float(GOODBYES.index("standby"))


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Masks over the rows of one place.

    On air means for now: a position of the production that isn't a spare, whose pack isn't asleep. ``gone`` rows are
    things that their device no longer has.
    """

    on_air: Mask
    gone: Mask
    suppressors: dict[Suppressor, Mask]


def circumstances(
    places: Iterable[Place], tables: LiveTables, rows: RowMap, out_of_contact: Mask
) -> dict[Place, Circumstances]:
    """The circumstances of every row of those places. ``out_of_contact`` is over the rows of devices."""
    asleep = gather(packs_asleep(tables), rows.pack_row, False)
    return {place: _of_place(place, rows, asleep, out_of_contact) for place in places}


def packs_asleep(tables: LiveTables) -> Mask:
    """Which packs are asleep by their own last word: they said so, or took their leave into standby."""
    table = tables[Place.PACK]
    asleep, goodbye = table.column_of["asleep"], table.column_of["goodbye"]
    trusted = table.qualities != Quality.BAD
    said: Mask = trusted[asleep] & (table.values[asleep] == 1.0)
    left: Mask = trusted[goodbye] & (table.values[goodbye] == _STANDBY)
    return said | left


def _of_place(place: Place, rows: RowMap, asleep: Mask, out_of_contact: Mask) -> Circumstances:
    channels = rows.channel_rows[place]
    assigned = gather(rows.assigned, channels, False)
    awake = assigned & ~gather(asleep, channels, False)
    any_assigned: Mask = np.logical_or.reduce(assigned, axis=1)
    on_air: Mask = np.logical_or.reduce(awake, axis=1)
    device = rows.device_row[place]
    return Circumstances(
        on_air=on_air,
        gone=~rows.described[place],
        suppressors={
            Suppressor.ASLEEP: any_assigned & ~on_air,
            Suppressor.UNASSIGNED: ~any_assigned,
            Suppressor.CONTACT_LOST: gather(out_of_contact, device, False) | (device == NO_ROW),
        },
    )
