"""Walls between two places: which of them a straight line crosses, seen from above."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def crossings(starts_m: ArrayLike, ends_m: ArrayLike, walls_m: ArrayLike) -> NDArray[np.bool_]:
    """Which walls the straight way from each start to its end crosses, [ways, walls].

    ``starts_m`` and ``ends_m`` are [ways, 2], ``walls_m`` [walls, 2, 2]: where each straight wall begins and ends, in
    metres. A way that ends on a wall, or runs along one, does not cross it.
    """
    start, end = np.asarray(starts_m, dtype=np.float64), np.asarray(ends_m, dtype=np.float64)
    walls = np.asarray(walls_m, dtype=np.float64)
    first, second = walls[np.newaxis, :, 0], walls[np.newaxis, :, 1]
    here, there = start[:, np.newaxis], end[:, np.newaxis]
    wall_is_between = _side(first, second, here) * _side(first, second, there) < 0.0
    way_is_between = _side(here, there, first) * _side(here, there, second) < 0.0
    return np.asarray(wall_is_between & way_is_between)


def _side(first: NDArray[np.float64], second: NDArray[np.float64], point: NDArray[np.float64]) -> NDArray[np.float64]:
    """On which side of the line through two points a third lies: above zero to the left of it, zero on it."""
    along, towards = second - first, point - first
    return np.asarray(along[..., 0] * towards[..., 1] - along[..., 1] * towards[..., 0])
