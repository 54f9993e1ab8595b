"""Shadowing: the slow ups and downs of a level from place to place, the same each time at the same place.

Log-normal with an exponential correlation over distance (Gudmundson 1991), laid out as a sum of plane waves over the
ground, so that a walk repeated meets the same shadows. Its spread and correlation distance are assumptions of a venue.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Assumption: of the shortest waves, one in fifty is lengthened to this; shadows are no finer than a body.
_FINEST_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class ShadowField:
    """One field over the ground: wave vectors [waves, 2] in radians a metre, phases [waves], spread in dB."""

    waves_rad_m: NDArray[np.float64]
    phases_rad: NDArray[np.float64]
    spread_db: float

    def at(self, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Shadow in dB, mean 0, at places [..., 2] in metres; the shape loses its last axis."""
        angles = np.asarray(places_m, dtype=np.float64) @ self.waves_rad_m.T + self.phases_rad
        scale = self.spread_db * np.sqrt(2.0 / len(self.phases_rad))
        return np.asarray(scale * np.cos(angles).sum(axis=-1))


def shadow_field(draws: NDArray[np.float64], spread_db: float, correlation_distance_m: float) -> ShadowField:
    """A field from uniform draws [waves, 3], each from 0 to 1: how long a wave is, where it goes, where it starts.

    The correlation falls to 1/e over ``correlation_distance_m``: waves are as long as the two-dimensional spectrum of
    that correlation, D^2 k / (1 + (D k)^2)^1.5, asks for. Raises ValueError at a negative spread, a distance not above
    zero or without a wave.
    """
    if spread_db < 0.0 or correlation_distance_m <= 0.0 or len(draws) == 0:
        raise ValueError("a spread is at least zero, a correlation distance above zero, and a field has waves")
    beyond = np.maximum(1.0 - draws[:, 0], _FINEST_SHARE)
    numbers = np.sqrt(1.0 / beyond**2 - 1.0) / correlation_distance_m
    heading = 2.0 * np.pi * draws[:, 1]
    waves = numbers[:, np.newaxis] * np.stack([np.cos(heading), np.sin(heading)], axis=1)
    return ShadowField(waves, 2.0 * np.pi * draws[:, 2], spread_db)
