"""A device's vital signs: its audio clock, its warmth, its supply, its firmware."""

from __future__ import annotations

import math
from collections.abc import Mapping

from fleet.model.fields import Value
from fleet.protocol.messages import LayoutEntry
from simulator.gear import Exact, Reading
from simulator.luck import Luck

# Assumptions: a device warms up from the room's temperature to one of its own, as a body of one time constant does.
ROOM_C = 22.0
WARM_C = (30.0, 38.0)
WARMING_S = 1_200.0
_US = 1e6
_LOOK_US = 1_000_000


class Vitals:
    """The vital signs of one device. ``sample_rate_hz`` 0 is a device without an audio clock.

    Samples slip at the rate by which its clock differs from the leader's; its own lock says nothing of that.
    """

    def __init__(self, device_id: str, firmware: str, sample_rate_hz: int, luck: Luck) -> None:
        self.supply_ok = True
        self._exact: Exact = {device_id: {"firmware": firmware}}
        self._device_id = device_id
        self._sample_rate_hz = sample_rate_hz
        self._warm_c = float(luck.generator(f"warmth of {device_id}").uniform(*WARM_C))
        self._looked, self._found_c = 0, ROOM_C
        self._locked = True
        self._alone = False
        self._error_ppm = 0.0
        self._slipped = 0.0
        self._since_us = 0

    @property
    def has_clock(self) -> bool:
        """Whether it has an audio clock at all."""
        return self._sample_rate_hz > 0

    def follow(self, error_ppm: float, now_us: int, *, locked: bool = True) -> None:
        """From now on the clock differs by that much from its reference."""
        self._slipped = self._slips(now_us)
        self._since_us = now_us
        self._error_ppm, self._locked = error_ppm, locked

    def restart(self, now_us: int) -> None:
        """Count slips anew; it has hardly cooled meanwhile."""
        self._slipped = 0.0
        self._since_us = now_us

    def heed(self, own: Mapping[str, Value], now_us: int) -> None:
        """Follow the device's settings of its clock, where it has such: its rate, and what it follows."""
        rate_hz = int(own.get("sample_rate_hz", self._sample_rate_hz))
        alone = own.get("clock_source") == "internal"
        if (rate_hz, alone) != (self._sample_rate_hz, self._alone):
            self._slipped, self._since_us = self._slips(now_us), now_us
            self._sample_rate_hz, self._alone = rate_hz, alone

    @property
    def _off_ppm(self) -> float:
        """How far it is off what it follows: one that follows itself is never off."""
        return 0.0 if self._alone else self._error_ppm

    @property
    def slips_per_s(self) -> float:
        """How often a sample slips: the clock's error times the sample rate."""
        return abs(self._off_ppm) * 1e-6 * self._sample_rate_hz

    def _slips(self, now_us: int) -> float:
        return self._slipped + self.slips_per_s * (now_us - self._since_us) / _US

    def layout(self) -> LayoutEntry:
        """The order of the readings."""
        clock = ["clock_locked", "clock_error_ppm", "slip_count"] if self._sample_rate_hz else []
        return LayoutEntry(self._device_id, [*clock, "temperature_c", "supply_ok"])

    def readings(self, now_us: int) -> list[Reading]:
        """Their values."""
        warm: list[Reading] = [self._temperature_c(now_us // _LOOK_US), self.supply_ok]
        if not self._sample_rate_hz:
            return warm
        return [self._locked, self._off_ppm, float(math.floor(self._slips(now_us))), *warm]

    def _temperature_c(self, look: int) -> float:
        """Its temperature, looked at once a second."""
        if look != self._looked:
            self._looked = look
            warmed = 1.0 - math.exp(-look / WARMING_S)
            self._found_c = round(ROOM_C + (self._warm_c - ROOM_C) * warmed, 1)
        return self._found_c

    def exact(self) -> Exact:
        """Its firmware."""
        return self._exact
