"""Sets of raster points as the bits of whole numbers: unions, shifts and widening of thousands of points at once."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray


def bits_of(points: Iterable[int]) -> int:
    """The set of some points, none of them below 0."""
    found = list(points)
    raw = bytearray((max(found, default=-1) >> 3) + 1)
    for point in found:
        raw[point >> 3] |= 1 << (point & 7)
    return int.from_bytes(raw, "little")


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
    return spread(bits, 1 - guard, guard - 1) if guard > 0 else 0


def spread(bits: int, low: int, high: int) -> int:
    """Every point of a set plus each step from ``low`` to ``high``; what falls below 0 is lost."""
    wanted, reach = high - low + 1, 1
    if not bits or wanted <= 0:
        return 0
    while 2 * reach <= wanted:
        bits |= bits << reach
        reach *= 2
    bits |= bits << (wanted - reach)
    return shifted(bits, low)


def halves(sums: Iterable[int], guard: int) -> int:
    """Every point whose double is less than a guard from one of some sums, all of which are at least 0."""
    return _parts(sums, 2, guard)


def thirds(sums: Iterable[int], guard: int) -> int:
    """The same for three times a point."""
    return _parts(sums, 3, guard)


def _parts(sums: Iterable[int], times: int, guard: int) -> int:
    found, whole = 0, list(sums) if guard > 0 else []
    for rest in range(times if whole else 0):
        parts = bits_of(total // times for total in whole if total % times == rest)
        found |= spread(parts, -((guard - 1 - rest) // times), (rest + guard - 1) // times)
    return found
