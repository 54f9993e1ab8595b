"""Runs of points that stand out, and stretches of frequency put together."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Stretch = tuple[int, int]


def runs(marked: NDArray[np.bool_], gap: int = 0) -> list[slice]:
    """Runs of marked points; those with at most ``gap`` others between them are one."""
    places = np.flatnonzero(marked)
    if places.size == 0:
        return []
    parts = np.flatnonzero(np.diff(places) > gap + 1) + 1
    return [slice(int(part[0]), int(part[-1]) + 1) for part in np.split(places, parts)]


def merged(stretches: Iterable[Stretch], gap_hz: int = 0) -> list[Stretch]:
    """Stretches in their order, of which those that touch or lie at most ``gap_hz`` apart are one."""
    found: list[Stretch] = []
    for start_hz, stop_hz in sorted(stretches):
        if found and start_hz <= found[-1][1] + gap_hz:
            found[-1] = (found[-1][0], max(stop_hz, found[-1][1]))
        else:
            found.append((start_hz, stop_hz))
    return found
