"""Bins of the recent past: how they are kept, and how several become one.

Rows come last in every plane, so that a step over bins runs over whole contiguous rows of channels. Levels are kept in
tenths of a decibel, shares as parts of 65,535, damage as parts of 255.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

ABSENT = np.int16(np.iinfo(np.int16).max)
_ABSENT_DB = float(ABSENT)
WHOLE = 65_535
DAMAGE_WHOLE = 255


@dataclass(slots=True)
class Planes:
    """Bins as parallel planes of one shape, rows last. ``deaf`` has a bit for each branch, bit 7 for sleep."""

    median: NDArray[np.int16]
    worst: NDArray[np.int16]
    damage: NDArray[np.uint8]
    speech: NDArray[np.uint16]
    reported: NDArray[np.uint16]
    deaf: NDArray[np.uint8]


PLANES = tuple(field.name for field in fields(Planes))


def empty(shape: tuple[int, ...]) -> Planes:
    """Bins of which nothing was reported."""
    return Planes(
        median=np.full(shape, ABSENT, dtype=np.int16),
        worst=np.full(shape, ABSENT, dtype=np.int16),
        damage=np.zeros(shape, dtype=np.uint8),
        speech=np.zeros(shape, dtype=np.uint16),
        reported=np.zeros(shape, dtype=np.uint16),
        deaf=np.zeros(shape, dtype=np.uint8),
    )


def merged(bins: Planes, counts: NDArray[np.int64]) -> Planes:
    """Bins made one along the first axis; ``counts`` says over how many of them the reported share is taken.

    The worst stays the worst and damage the most, however far back; speech is a share of the time that was reported.
    """
    reported = bins.reported.astype(np.int64)
    total = reported.sum(axis=0)
    spoken = (bins.speech * reported).sum(axis=0)
    return Planes(
        median=median(bins.median),
        worst=bins.worst.min(axis=0),
        damage=bins.damage.max(axis=0),
        speech=(spoken // np.maximum(total, 1)).astype(np.uint16),
        reported=(total // np.maximum(counts, 1)).astype(np.uint16),
        deaf=np.bitwise_or.reduce(bins.deaf, axis=0),
    )


def median(levels: NDArray[np.int16]) -> NDArray[np.int16]:
    """The median along the first axis of what is present; ``ABSENT`` where nothing is."""
    ordered = _ordered(levels)
    present = (levels != ABSENT).sum(axis=0)[np.newaxis]
    lower = np.take_along_axis(ordered, np.maximum(present - 1, 0) // 2, axis=0)
    upper = np.take_along_axis(ordered, np.minimum(present // 2, len(levels) - 1), axis=0)
    middle = (lower.astype(np.int32) + upper.astype(np.int32)) // 2
    found: NDArray[np.int16] = np.where(present == 0, ABSENT, middle)[0].astype(np.int16)
    return found


def _ordered(levels: NDArray[np.int16]) -> NDArray[np.int16]:
    """Sorted along the first axis, which is short: by exchanging whole neighbouring planes (odd-even transposition).

    That costs far less than sorting each of the many short columns by itself.
    """
    ordered = levels.copy()
    for turn in range(len(ordered)):
        lower, upper = ordered[turn % 2 : -1 : 2], ordered[turn % 2 + 1 :: 2]
        lower[:], upper[:] = np.minimum(lower, upper), np.maximum(lower, upper)
    return ordered


def tenths(levels_dbm: NDArray[np.float64]) -> NDArray[np.int16]:
    """Levels as they are kept; they are believable ones, so they fit."""
    kept: NDArray[np.int16] = np.where(np.isnan(levels_dbm), _ABSENT_DB, np.rint(levels_dbm * 10.0)).astype(np.int16)
    return kept


def levels_dbm(kept: NDArray[np.int16]) -> NDArray[np.float32]:
    """Kept levels in dBm, NaN where absent."""
    levels: NDArray[np.float32] = np.where(kept == ABSENT, np.nan, kept / 10.0).astype(np.float32)
    return levels
