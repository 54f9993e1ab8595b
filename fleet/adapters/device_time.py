"""A device's own clock, seen from here: the offset by the fastest round trip, and whether the device moves on."""

from __future__ import annotations

from dataclasses import dataclass

DRIFT_FRACTION = 200e-6
"""How far two clocks may part, as a share of the time since they were compared.

Common practice: crystals without compensation keep within ±100 ppm each.
"""


@dataclass(frozen=True, slots=True)
class RoundTrip:
    """A request and its answer, all in microseconds: sent and received on our clock, answered on the device's."""

    sent_us: int
    device_us: int
    received_us: int

    @property
    def offset_us(self) -> int:
        """Device time less our time, were both ways equally long."""
        return self.device_us - (self.sent_us + self.received_us) // 2

    def uncertainty_us(self, now_us: int) -> int:
        """How far the offset may be wrong at ``now_us``: half the round trip, and drift since."""
        half_trip_us = (self.received_us - self.sent_us + 1) // 2
        return half_trip_us + round((now_us - self.received_us) * DRIFT_FRACTION)


class DeviceTime:
    """The estimate for one connection, from the round trip that is the least uncertain now."""

    def __init__(self) -> None:
        self._best: RoundTrip | None = None

    @property
    def best(self) -> RoundTrip | None:
        """The round trip that the estimate rests on."""
        return self._best

    def add(self, trip: RoundTrip) -> None:
        """Take a round trip into account; times that run backwards are ignored."""
        if trip.received_us < trip.sent_us:
            return
        now_us = trip.received_us
        if self._best is None or trip.uncertainty_us(now_us) <= self._best.uncertainty_us(now_us):
            self._best = trip

    def least_age_us(self, device_us: int, now_us: int) -> int:
        """How old, at the least, something measured at ``device_us`` is at ``now_us``; zero when that isn't known.

        What could be the clocks' disagreement is not counted as age, so a slow clock never makes a live value old.
        """
        best = self._best
        if best is None:
            return 0
        return max(0, now_us + best.offset_us - device_us - best.uncertainty_us(now_us))


class Pulse:
    """Whether heartbeats are fresh: the device's time and the counter of its measuring loop must both advance."""

    def __init__(self) -> None:
        self._last: tuple[int, int] | None = None

    def beat(self, device_us: int, counter: int) -> bool:
        """Whether this heartbeat is fresh. The first of a contact proves nothing and isn't."""
        last, self._last = self._last, (device_us, counter)
        return last is not None and device_us > last[0] and counter > last[1]
