"""Which adapter serves which device: by its address in the configuration."""

from __future__ import annotations

from collections.abc import Callable

from fleet.adapters.adapter import Adapter, Connect, Sink
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.replay import ReplayAdapter, Tape
from fleet.clock import Clock
from fleet.config import DeviceAddress

WayTo = Callable[[DeviceAddress], Connect]
"""How a device is called."""


class Catalog:
    """Makes adapters. A recording stays in its player between contacts, so one catalogue serves one console."""

    def __init__(self, way_to: WayTo, clock: Clock) -> None:
        self._way_to = way_to
        self._clock = clock
        self._tapes: dict[str, Tape] = {}

    def adapter(self, device: DeviceAddress, sink: Sink) -> Adapter:
        """An adapter for one contact with the device."""
        if device.replay is None:
            return OpenJsonAdapter(device, self._way_to(device), self._clock, sink)
        tape = self._tapes.setdefault(device.device_id, Tape(device.replay))
        return ReplayAdapter(device, tape, self._clock, sink)
