"""What else is true of each row while rules are evaluated: on air, asleep, unassigned, out of contact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.rule import Rule, Suppressor
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


class Surroundings:
    """What is true around each rule's rows, as grids [rule, row]; made anew only where something changed."""

    def __init__(self, rules: Sequence[Rule]) -> None:
        self._rules = tuple(rules)
        self._places = tuple(dict.fromkeys(rule.place for rule in rules))
        self._wiring: NDArray[np.intp] | None = None
        self._seen: tuple[Mask, ...] = ()
        self._quiet: Mask = np.zeros((0, 0), dtype=np.bool_)
        self._on_air: Mask = np.zeros((0, 0), dtype=np.bool_)

    def look(self, tables: LiveTables, rows: RowMap, out_of_contact: Mask) -> tuple[Mask, Mask]:
        """Where no condition may begin, and what is on air. ``out_of_contact`` is over the rows of devices.

        Rows that a rule's place doesn't have are quiet. The grids are never changed once given.
        """
        asleep = rows.show.resting | gather(packs_asleep(tables), rows.pack_row, False)
        seen = (asleep, rows.assigned | rows.show.on_air, rows.show.on_air, out_of_contact)
        same = self._wiring is rows.pack_row and len(seen) == len(self._seen)
        if not (same and all(map(np.array_equal, seen, self._seen))):
            # A copy of what others own and may change in place.
            self._wiring, self._seen = rows.pack_row, tuple(mask.copy() for mask in seen)
            self._quiet, self._on_air = self._grids(tables, rows)
        return self._quiet, self._on_air

    def _grids(self, tables: LiveTables, rows: RowMap) -> tuple[Mask, Mask]:
        asleep, in_use, _, out_of_contact = self._seen
        around = {place: _of_place(place, rows, in_use, asleep, out_of_contact) for place in self._places}
        shape = (len(self._rules), max(len(tables[place]) for place in Place))
        quiet, on_air = np.ones(shape, dtype=np.bool_), np.zeros(shape, dtype=np.bool_)
        for index, rule in enumerate(self._rules):
            here = around[rule.place]
            masks = [here.gone, *(here.suppressors[each] for each in rule.suppressed_when)]
            quiet[index, : len(here.gone)] = np.logical_or.reduce(masks)
            on_air[index, : len(here.gone)] = here.on_air
        return quiet, on_air


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
