"""Counts what the running console takes in and how late its ticks come; bounded by the number of devices."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.clock import MICROSECONDS_PER_SECOND
from fleet.model.observation import Contact, Observation
from fleet.model.vitals import DeviceTraffic

WINDOW_US = 10 * MICROSECONDS_PER_SECOND


@dataclass(slots=True)
class _Counts:
    observations: int = 0
    frames: int = 0
    heartbeats: int = 0
    frame_age_us: int | None = None


class Tally:
    """The counts of one console."""

    def __init__(self) -> None:
        self.ticks = 0
        self._late_us = 0
        self._worst_us = 0
        self._worst_before_us = 0
        self._window_began_us = 0
        self._devices: dict[str, _Counts] = {}

    def heard(self, item: Observation | Contact) -> None:
        """Count what came from a device; contacts that only say how a contact stands are none."""
        counts = self._devices.get(item.device_id)
        if counts is None:
            counts = self._devices[item.device_id] = _Counts()
        if isinstance(item, Contact):
            counts.heartbeats += bool(item.boot_id) and item.description is None
            return
        counts.observations += 1
        if item.frame is not None:
            counts.frames += item.frame.coalesced
            counts.frame_age_us = item.frame.age_us

    def ticked(self, late_us: int, now_us: int) -> None:
        """Count a tick, and how late it came."""
        self.ticks += 1
        self._late_us = max(0, late_us)
        if now_us - self._window_began_us >= WINDOW_US:
            self._worst_before_us, self._worst_us = self._worst_us, 0
            self._window_began_us = now_us
        self._worst_us = max(self._worst_us, self._late_us)

    @property
    def lag_s(self) -> float:
        """How late the last tick came, in seconds."""
        return self._late_us / MICROSECONDS_PER_SECOND

    @property
    def worst_lag_s(self) -> float:
        """How late a tick came at the worst, within ten to twenty seconds, in seconds."""
        return max(self._worst_us, self._worst_before_us) / MICROSECONDS_PER_SECOND

    def traffic(self) -> tuple[DeviceTraffic, ...]:
        """What came from each device."""
        return tuple(_traffic(device_id, counts) for device_id, counts in sorted(self._devices.items()))


def _traffic(device_id: str, counts: _Counts) -> DeviceTraffic:
    age_us = counts.frame_age_us
    age_s = None if age_us is None else age_us / MICROSECONDS_PER_SECOND
    return DeviceTraffic(device_id, counts.observations, counts.frames, counts.heartbeats, age_s)
