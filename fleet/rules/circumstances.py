"""What else is true of each row while rules are evaluated: on air, asleep, unassigned, out of contact."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.rule import Suppressor
from fleet.readings import LiveTables, packs_asleep
from fleet.row_map import NO_ROW, RowMap, gather

Mask = NDArray[np.bool_]


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
