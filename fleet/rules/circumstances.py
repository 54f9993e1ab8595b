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

    On air is what the current cue says, and without one every position that isn't a spare; never a pack that is asleep.
    Asleep is a pack that said so, or that sleeps by plan. ``gone`` rows are things that their device no longer has.
    """

    on_air: Mask
    gone: Mask
    suppressors: dict[Suppressor, Mask]


def circumstances(
    places: Iterable[Place], tables: LiveTables, rows: RowMap, out_of_contact: Mask
) -> dict[Place, Circumstances]:
    """The circumstances of every row of those places. ``out_of_contact`` is over the rows of devices."""
    asleep = rows.show.resting | gather(packs_asleep(tables), rows.pack_row, False)
    in_use = rows.assigned | rows.show.on_air
    return {place: _of_place(place, rows, in_use, asleep, out_of_contact) for place in places}


def _of_place(place: Place, rows: RowMap, in_use: Mask, asleep: Mask, out_of_contact: Mask) -> Circumstances:
    channels = rows.channel_rows[place]
    used = gather(in_use, channels, False)
    awake = used & ~gather(asleep, channels, False)
    any_used: Mask = np.logical_or.reduce(used, axis=1)
    any_awake: Mask = np.logical_or.reduce(awake, axis=1)
    on_air: Mask = np.logical_or.reduce(awake & gather(rows.show.on_air, channels, False), axis=1)
    device = rows.device_row[place]
    return Circumstances(
        on_air=on_air,
        gone=~rows.described[place],
        suppressors={
            Suppressor.ASLEEP: any_used & ~any_awake,
            Suppressor.UNASSIGNED: ~any_used,
            Suppressor.CONTACT_LOST: gather(out_of_contact, device, False) | (device == NO_ROW),
        },
    )
