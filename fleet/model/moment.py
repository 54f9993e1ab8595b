"""One moment on two scales."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Moment:
    """A moment on the console's monotonic scale, for durations, and in UTC, for display.

    Both are integer microseconds. Only monotonic values may be subtracted from one another.
    """

    monotonic_us: int
    utc_us: int

    def later(self, seconds: float) -> Moment:
        """The moment that many seconds later on both scales."""
        microseconds = round(seconds * 1_000_000)
        return Moment(self.monotonic_us + microseconds, self.utc_us + microseconds)

    def seconds_since(self, earlier: Moment) -> float:
        """Seconds from ``earlier`` to this moment, by the monotonic scale."""
        return (self.monotonic_us - earlier.monotonic_us) / 1_000_000
