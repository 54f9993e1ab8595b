"""Sets of raster points as the bits of whole numbers: unions, shifts and widening of thousands of points at once."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray


def bits_of(points: Iterable[int]) -> int:
    """The set of some points."""
    found = 0
    for point in points:
        found |= 1 << point
    return found


def bits_of_flags(flags: NDArray[np.bool_]) -> int:
    """The set of the points whose flag is set."""
    return int.from_bytes(np.packbits(flags, bitorder="little").tobytes(), "little")


def points_in(bits: int) -> NDArray[np.int64]:
    """The points of a set, ascending."""
    raw = np.frombuffer(bits.to_bytes((bits.bit_length() + 7) // 8, "little"), dtype=np.uint8)
    return np.flatnonzero(np.unpackbits(raw, bitorder="little")).astype(np.int64)


def shifted(bits: int, steps: int) -> int:
    """A set moved up, or down where steps are negative; what falls below 0 is lost."""
    return bits << steps if steps >= 0 else bits >> -steps


def widened(bits: int, guard: int) -> int:
    """Every point less than a guard from one of a set; a guard of 0 gives none. What falls below 0 is lost."""
    if guard <= 0 or not bits:
        return 0
    found, reach, wanted = bits, 1, 2 * guard - 1
    while 2 * reach <= wanted:
        found |= found << reach
        reach *= 2
    found |= found << (wanted - reach)
    return found >> (guard - 1)


def halves(sums: Iterable[int], guard: int) -> int:
    """Every point whose double is less than a guard from one of some sums, all of which are at least 0."""
    return _parts(sums, 2, guard)


def thirds(sums: Iterable[int], guard: int) -> int:
    """The same for three times a point."""
    return _parts(sums, 3, guard)


def _parts(sums: Iterable[int], times: int, guard: int) -> int:
    found = 0
    if guard <= 0:
        return 0
    for total in sums:
        low, high = max(0, -((guard - 1 - total) // times)), (total + guard - 1) // times
        if high >= low:
            found |= ((1 << (high - low + 1)) - 1) << low
    return found
