"""How fast things may go: connects in a second, messages in a second, and pauses that grow."""

from __future__ import annotations

import numpy as np

MICROSECONDS_PER_SECOND = 1_000_000


class Pace:
    """Evenly spaced turns, at most so many a second, given in the order in which they were asked for."""

    def __init__(self, per_second: float) -> None:
        self._spacing_us = round(MICROSECONDS_PER_SECOND / per_second)
        self._next_us = 0

    def wait_s(self, now_us: int) -> float:
        """Take the next turn; the seconds until it comes."""
        turn_us = max(now_us, self._next_us)
        self._next_us = turn_us + self._spacing_us
        return (turn_us - now_us) / MICROSECONDS_PER_SECOND


class Flood:
    """Counts messages, by weight, and says when so many came within a time, a second unless another is given.

    The clock needs to be read only once in so many messages, not for each.
    """

    def __init__(self, bound: int, now_us: int, seconds: int = 1) -> None:
        self._bound = bound
        self._window_us = seconds * MICROSECONDS_PER_SECOND
        self._began_us = now_us
        self._count = 0

    def full(self, weight: int = 1) -> bool:
        """Count one message; whether it is time to ask ``exceeded``."""
        self._count += weight
        return self._count > self._bound

    def exceeded(self, now_us: int) -> bool:
        """Whether the messages counted so far came within the time; the count begins anew."""
        within = now_us - self._began_us < self._window_us
        self._began_us, self._count = now_us, 0
        return within


def back_off_s(attempt: int, first_s: float, most_s: float, random: np.random.Generator) -> float:
    """The pause before the next attempt: doubling from ``first_s`` to ``most_s``, then drawn between half and all.

    ``attempt`` counts failures, from 1. The draw keeps devices that fell together from returning in step (common
    practice).
    """
    whole = min(most_s, first_s * 2.0 ** min(attempt - 1, 32))
    return float(whole * (0.5 + 0.5 * random.random()))
