"""The noise floor of a scan, per stretch, however much stands above it."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.planning.spectrum.noise import looks_of_spread, quantile_db

STRETCH_HZ = 32_000_000
"""Four of the widest television blocks: one that is taken is a quarter of a stretch."""
STRETCH_POINTS_MINIMUM = 100
ABOVE_FLOOR_DB = 10.0
"""What stands so far above the floor is kept out of; common practice."""
STEP_UP_DB_MAXIMUM = 15.0
"""Assumption: a stretch that lies further above the lowest is full of signals, not of noise."""
_START, _LOW, _ANCHOR, _HIGH = 0.05, 0.2, 0.25, 0.5
_ROUNDS = 8

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Floor:
    """The mean power of the noise: ``floor_dbm`` at each of ``frequency_hz``, straight between, level beyond.

    ``looks`` is how many independent looks each level of the noise seems averaged over, infinite where it doesn't
    move. ``filled`` says how many stretches hold nothing but signals and have their neighbours' floor.
    """

    frequency_hz: Array
    floor_dbm: Array
    looks: float
    filled: int

    def at(self, frequency_hz: NDArray[np.int64]) -> Array:
        """The floor at frequencies, in dBm."""
        return np.interp(frequency_hz, self.frequency_hz, self.floor_dbm)


def floor_of(frequency_hz: NDArray[np.int64], level_dbm: Array, sweeps: int = 1) -> Floor | None:
    """The floor of levels at rising frequencies, each the median of so many sweeps; None where nothing was measured.

    A low quantile of each stretch is taken and raised by what lies between it and the mean power for noise that is
    spread so: nothing for noise that stands still, 6.5 dB for the fifth part of single looks. What stands out is left
    aside and the rest looked at again. It holds while noise is left in six of ten points of a stretch.
    """
    known = ~np.isnan(level_dbm)
    frequencies, levels = frequency_hz[known], level_dbm[known]
    if levels.size == 0:
        return None
    parts = _parts(frequencies)
    looks = _looks_of([levels[part] for part in parts], sweeps)
    floors = np.array([_level_of(np.sort(levels[part]), looks, sweeps) for part in parts])
    middles = np.array([frequencies[part].mean() for part in parts])
    good = floors <= floors.min() + STEP_UP_DB_MAXIMUM
    filled = np.interp(middles, middles[good], floors[good])
    return Floor(middles, filled, looks, int(np.count_nonzero(~good)))


def _parts(frequencies: NDArray[np.int64]) -> list[slice]:
    """Stretches of about equal numbers of points: STRETCH_HZ wide, or wider where points are few."""
    span_hz = int(frequencies[-1] - frequencies[0])
    count = max(1, min(round(span_hz / STRETCH_HZ), frequencies.size // STRETCH_POINTS_MINIMUM))
    edges = np.linspace(0, frequencies.size, count + 1).astype(int)
    return [slice(low, high) for low, high in itertools.pairwise(edges)]


def _looks_of(parts: list[Array], sweeps: int) -> float:
    """The looks that most stretches agree on."""
    return float(np.median([_looks_of_one(np.sort(part), sweeps) for part in parts]))


def _looks_of_one(ordered: Array, sweeps: int) -> float:
    looks, kept = 1.0, ordered
    for _ in range(_ROUNDS):
        floor = _level_of(ordered, looks, sweeps)
        kept = ordered[: np.searchsorted(ordered, floor + ABOVE_FLOOR_DB, side="right")]
        spread_db = float(np.quantile(kept, _HIGH) - np.quantile(kept, _LOW))
        before, looks = looks, looks_of_spread(spread_db, _LOW, _HIGH, sweeps)
        if looks == before:
            break
    return looks


def _level_of(ordered: Array, looks: float, sweeps: int) -> float:
    """The mean power of the noise among levels in their order: from the lowest up, what stands out left aside."""
    floor = float(np.quantile(ordered, _START)) - quantile_db(_START, looks, sweeps)
    for _ in range(_ROUNDS):
        count = int(np.searchsorted(ordered, floor + ABOVE_FLOOR_DB, side="right"))
        before = floor
        floor = float(np.quantile(ordered[: max(count, 1)], _ANCHOR)) - quantile_db(_ANCHOR, looks, sweeps)
        if math.isclose(floor, before, abs_tol=1e-6):
            break
    return floor
