"""Small-scale fading on the ways from packs to the antenna inputs that hear them: one field for each.

Scatterers stand about every pack and about every antenna. The field is the same at the same place, moves as its wearer
moves, and resembles itself at antennas that stand close: Clarke's spectrum in time, and his correlation in space.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fleet.physics.fading import first_phasors, phases_of_place_rad, scatterer_angles_rad, turn_fields, turned
from fleet.physics.propagation import SPEED_OF_LIGHT_M_S
from simulator.luck import Luck
from simulator.paths import Emission, Paths

# A field of n equal scatterers is normal but for one part in n.
SCATTERERS = 128


class Fades:
    """The fields of the ways in use: ``link`` says which pack [ways] goes to which antennas [ways, branches]."""

    def __init__(self, paths: Paths, packs: Sequence[str], luck: Luck) -> None:
        starts = [luck.generator(f"fading of {name}") for name in packs]
        turns = np.array([start.uniform(size=2) for start in starts]).reshape(-1, 2)
        self._paths = paths
        self._phases = np.array([start.uniform(0.0, 2.0 * np.pi, SCATTERERS) for start in starts])
        self._departure = scatterer_angles_rad(turns[:, 0], SCATTERERS)
        arrival = scatterer_angles_rad(turns[:, 1], SCATTERERS)
        self._arrival = np.array([start.permutation(each) for start, each in zip(starts, arrival, strict=True)])
        self._packs = np.empty(0, dtype=np.intp)
        self._antenna = np.empty((0, 1), dtype=np.intp)
        self._hz = np.empty(0)
        self._by_x = self._by_y = np.empty((0, SCATTERERS), dtype=np.float32)
        self._direct = np.empty((0, 1))
        self._phasors = np.empty((0, 1, SCATTERERS), dtype=np.complex64)

    def link(
        self, packs: NDArray[np.intp], antenna: NDArray[np.intp], rician_k: NDArray[np.float64], emission: Emission
    ) -> None:
        """Take the ways that matter from now on; ``rician_k`` [ways] is the direct path's power over the scattered."""
        self._packs, self._antenna = packs, antenna
        self._hz = emission.sent.frequency_hz[packs].astype(float)
        here = self._phases[packs] + phases_of_place_rad(self._departure[packs], emission.field_m[packs], self._hz)
        places_m = self._paths.places_m[antenna, :2]
        there = phases_of_place_rad(self._arrival[packs][:, np.newaxis], places_m, self._hz[:, np.newaxis])
        phases = np.concatenate([here[:, np.newaxis] + there, np.zeros((*antenna.shape, 1))], axis=-1)
        amplitudes = first_phasors(phases, np.broadcast_to(rician_k[:, np.newaxis], antenna.shape))
        number = (2.0 * np.pi * self._hz / SPEED_OF_LIGHT_M_S)[:, np.newaxis]
        self._by_x = (number * np.cos(self._departure[packs])).astype(np.float32)
        self._by_y = (number * np.sin(self._departure[packs])).astype(np.float32)
        self._phasors, self._direct = amplitudes[..., :-1].astype(np.complex64), amplitudes[..., -1].real

    def advance(self, emission: Emission, steps: int) -> NDArray[np.complex128]:
        """The fields of the next block, mean power 1: [ways, branches, steps]."""
        packs = self._packs
        moved_m = ((emission.field_ahead_m - emission.field_m)[packs] / steps).astype(np.float32)
        turn = moved_m[:, :1] * self._by_x + moved_m[:, 1:] * self._by_y
        scattered, self._phasors = turn_fields(self._phasors, turned(turn), steps)
        return np.asarray(scattered + self._direct[..., np.newaxis] * self._straight(emission, steps))

    def _straight(self, emission: Emission, steps: int) -> NDArray[np.complex128]:
        """The direct path's turning by its length, [ways, branches, steps]."""
        before_m = self._length_m(emission.position_m)
        after_m = self._length_m(emission.ahead_m)
        share = np.arange(1, steps + 1) / steps
        length_m = before_m[..., np.newaxis] + (after_m - before_m)[..., np.newaxis] * share
        number = 2.0 * np.pi * self._hz / SPEED_OF_LIGHT_M_S
        return np.asarray(np.exp(-1j * number[:, np.newaxis, np.newaxis] * length_m))

    def _length_m(self, place_m: NDArray[np.float64]) -> NDArray[np.float64]:
        return self._paths.distances_m(self._antenna, place_m[self._packs][:, np.newaxis])
