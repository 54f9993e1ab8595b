"""Performers: where each is at any moment, where it looks, and how the radio field moves about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.scenario import Walk

# Whoever hasn't moved yet looks across the stage's front edge.
FRONT_RAD = -math.pi / 2.0
_STEP_LEAST_M = 1e-9


@dataclass(frozen=True, slots=True)
class Stance:
    """Where all performers are: ``position_m`` [rows, 2], ``speed_m_s`` and ``heading_rad`` [rows].

    ``field_m`` [rows, 2] is the place that the small-scale field depends on: the position and, beyond it, the way that
    whoever stands marks time.
    """

    position_m: NDArray[np.float64]
    speed_m_s: NDArray[np.float64]
    heading_rad: NDArray[np.float64]
    field_m: NDArray[np.float64]


class Walks:
    """The looped walks of all rows, laid out once at one point a block, so that a moment is one look-up."""

    def __init__(self, walks: Sequence[tuple[Walk, float]], block_s: float) -> None:
        tracks = [_Track(walk, block_s) for walk, _ in walks]
        self._lengths = np.array([len(track.places) for track in tracks])
        self._starts = np.concatenate([[0], np.cumsum(self._lengths)[:-1]])
        self._offsets = np.array([round(offset_s / block_s) for _, offset_s in walks])
        self._positions = np.concatenate([track.places for track in tracks])
        self._speeds = np.concatenate([track.speeds for track in tracks])
        self._headings = np.concatenate([track.headings for track in tracks])
        self._marked = np.concatenate([track.marked for track in tracks])
        self._marked_loop = np.stack([track.marked_loop for track in tracks])

    def at_block(self, block: int) -> Stance:
        """Where everybody is in that block of time."""
        loops, within = np.divmod(block + self._offsets, self._lengths)
        index = self._starts + within
        position = self._positions[index]
        marked = self._marked[index] + loops[:, np.newaxis] * self._marked_loop
        return Stance(position, self._speeds[index], self._headings[index], position + marked)


class _Track:
    """One walk, a point for each block of its loop; ``marked`` [blocks, 2] is the way marked in place before each."""

    def __init__(self, walk: Walk, block_s: float) -> None:
        self.places = _places(walk, block_s)
        ahead = np.roll(self.places, -1, axis=0) - self.places
        if len(self.places) > 1:
            ahead[-1] = ahead[-2]  # A jump where the loop closes counts as one block of walking.
        steps_m = np.hypot(ahead[:, 0], ahead[:, 1])
        self.headings = _headings(ahead, steps_m)
        self.speeds = np.maximum(steps_m / block_s, walk.pace_m_s)
        marking_m = np.maximum(walk.pace_m_s * block_s - steps_m, 0.0)
        way = marking_m[:, np.newaxis] * np.stack([np.cos(self.headings), np.sin(self.headings)], axis=1)
        self.marked_loop = way.sum(axis=0)
        self.marked = np.cumsum(way, axis=0) - way


def _places(walk: Walk, block_s: float) -> NDArray[np.float64]:
    points = np.array(walk.points, dtype=np.float64)
    blocks = max(1, round(points[-1, 0] / block_s))
    moments_s = np.arange(blocks) * block_s
    return np.stack([np.interp(moments_s, points[:, 0], points[:, axis]) for axis in (1, 2)], axis=1)


def _headings(ahead: NDArray[np.float64], steps_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where somebody looks at each point: where they go, or last went; before the first step, where that will go."""
    moving = np.flatnonzero(steps_m > _STEP_LEAST_M)
    if not moving.size:
        return np.full(len(ahead), FRONT_RAD)
    last = np.searchsorted(moving, np.arange(len(ahead)), side="right") - 1
    chosen = ahead[moving[np.maximum(last, 0)]]
    return np.asarray(np.arctan2(chosen[:, 1], chosen[:, 0]))
