"""Performers: where each is at any moment, and how fast it moves there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.scenario import Walk

# Nobody stands like a stone: an assumption that keeps the radio field moving.
SWAY_M_S = 0.25


@dataclass(frozen=True, slots=True)
class Stance:
    """Where all performers are: ``position_m`` [rows, 2] and ``speed_m_s`` [rows]."""

    position_m: NDArray[np.float64]
    speed_m_s: NDArray[np.float64]


class Walks:
    """The looped walks of all rows, laid out once at one point a block, so that a moment is one look-up."""

    def __init__(self, walks: Sequence[tuple[Walk, float]], block_s: float) -> None:
        tracks = [_track(walk, block_s) for walk, _ in walks]
        self._lengths = np.array([len(track) for track in tracks])
        self._starts = np.concatenate([[0], np.cumsum(self._lengths)[:-1]])
        self._offsets = np.array([round(offset_s / block_s) for _, offset_s in walks])
        self._positions = np.concatenate(tracks)
        self._speeds = np.concatenate([_speeds(track, block_s) for track in tracks])

    def at_block(self, block: int) -> Stance:
        """Where everybody is in that block of time."""
        index = self._starts + (block + self._offsets) % self._lengths
        return Stance(self._positions[index], self._speeds[index])


def _track(walk: Walk, block_s: float) -> NDArray[np.float64]:
    points = np.array(walk.points, dtype=np.float64)
    blocks = max(1, round(points[-1, 0] / block_s))
    moments_s = np.arange(blocks) * block_s
    return np.stack([np.interp(moments_s, points[:, 0], points[:, axis]) for axis in (1, 2)], axis=1)


def _speeds(track: NDArray[np.float64], block_s: float) -> NDArray[np.float64]:
    """Speed at each point of a closed track; a jump where the loop closes counts as one block of walking."""
    ahead = np.roll(track, -1, axis=0) - track
    if len(track) > 1:
        ahead[-1] = ahead[-2]
    return np.asarray(np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]) / block_s, SWAY_M_S))
