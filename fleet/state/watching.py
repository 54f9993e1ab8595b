"""Which devices are watched, and what is left of one that isn't any more: rows without values, and why."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place, parse_address
from fleet.model.device import ContactState, Origin
from fleet.model.event import Event
from fleet.model.inputs import DevicesWatched
from fleet.model.observation import Contact
from fleet.readings import LiveTables
from fleet.row_map import RowMap
from fleet.state.contacts import ContactBook
from fleet.state.exact import ExactReadings
from fleet.state.frames import FrameWriter
from fleet.state.shape import Shape
from fleet.state.twin import Twin

REMOVED = "removed from the device list"
SWITCHED_OFF = "switched off in the device list"


class Watching:
    """The devices as the list has them. Told nothing, every device counts as watched."""

    def __init__(
        self, contacts: ContactBook, shape: Shape, twin: Twin, exact: ExactReadings, frames: FrameWriter
    ) -> None:
        self._contacts = contacts
        self._shape = shape
        self._twin = twin
        self._exact = exact
        self._frames = frames
        self._replayed: frozenset[str] = frozenset()
        self._removed: NDArray[np.bool_] = np.zeros(0, dtype=np.bool_)

    def watch(self, watched: DevicesWatched, turn: Callable[[Contact], tuple[Event, ...]]) -> tuple[Event, ...]:
        """Let go of every device that isn't watched any more. ``turn`` takes in a change of contact."""
        self._replayed = watched.replayed
        events: list[Event] = []
        for device_id in self.leaving(watched):
            reason = SWITCHED_OFF if device_id in watched.switched_off else REMOVED
            events += turn(Contact(watched.at, device_id, ContactState.REMOVED, reason))
            self._let_go(device_id)
        return tuple(events)

    def leaving(self, watched: DevicesWatched) -> tuple[str, ...]:
        """The devices that are to be let go, those behind a gateway that goes among them."""
        known = [
            status.device_id
            for status in self._contacts.statuses()
            if status.state is not ContactState.REMOVED
            and (status.reached_through or status.device_id) not in watched.device_ids
        ]
        never_tried = [each for each in sorted(watched.switched_off) if self._contacts.status(each) is None]
        return (*known, *never_tried)

    def rows_of(self, device_id: str, tables: LiveTables) -> Iterator[tuple[Place, int]]:
        """The rows of everything that the device reports, and of what stands under its id in the production."""
        held = set(self._shape.addresses_of(device_id))
        for place in Place:
            for row, address in enumerate(tables[place].addresses):
                if address in held or parse_address(address).device_id == device_id:
                    yield place, row

    def origin(self, device_id: str) -> Origin:
        """Whether what the device reports is real."""
        if device_id in self._replayed:
            return Origin.REPLAYED
        description = self._shape.description(device_id)
        if description is None:
            return Origin.UNKNOWN
        return Origin.SIMULATED if description.simulated else Origin.REAL

    def row_map(self) -> RowMap:
        """The row map, in which the row of a device that was removed is of a thing that is gone.

        Whoever keeps what follows from it looks at whether its arrays are the same, so a change makes all of them anew.
        """
        removed = self._contacts.removed()
        if not np.array_equal(removed, self._removed):
            self._removed = removed
            self._shape.rewire()
        rows = self._shape.row_map
        if not removed.any() or len(removed) != len(rows.described[Place.DEVICE]):
            return rows
        return replace(rows, described={**rows.described, Place.DEVICE: ~removed})

    def _let_go(self, device_id: str) -> None:
        addresses = self._shape.addresses_of(device_id)
        self._shape.forget(device_id)
        self._twin.outdate(addresses)
        self._exact.withdraw(addresses)
        self._frames.forget_layouts(device_id)
