"""The venue: antennas, the distances to them, and what the way through the air takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.propagation import free_space_loss_db
from simulator.scenario import Antenna, Receiver, Scenario, Zone

# Nobody holds a pack against an antenna; it also keeps free space out of the near field.
NEAREST_M = 0.5


@dataclass(frozen=True, slots=True)
class Sites:
    """What each row's receiver stands in: ``antenna_m`` [rows, branches, 3] and the rest [rows, branches] or [rows]."""

    antenna_m: NDArray[np.float64]
    antenna_gain_db: NDArray[np.float64]
    floor_dbm: NDArray[np.float64]
    rician_k: NDArray[np.float64]
    rumble_dbfs: NDArray[np.float64]

    def distances_m(self, rows: NDArray[np.intp], packs_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Distances [len(rows), branches] from packs at [len(rows), 3] to the antennas of those rows."""
        away = self.antenna_m[rows] - packs_m[:, np.newaxis, :]
        return np.asarray(np.maximum(np.sqrt(np.sum(away**2, axis=-1)), NEAREST_M))

    def path_gain_db(
        self, rows: NDArray[np.intp], packs_m: NDArray[np.float64], frequency_hz: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Gain [len(rows), branches], below zero, from packs to the receiver inputs of those rows."""
        loss = free_space_loss_db(self.distances_m(rows, packs_m), frequency_hz[:, np.newaxis])
        return np.asarray(self.antenna_gain_db[rows] - loss)


def sites_of(scenario: Scenario, receivers: Sequence[Receiver]) -> Sites:
    """The sites of the receivers, one a row."""
    antennas = {antenna.name: antenna for antenna in scenario.antenna}
    zones = {zone.name: zone for zone in scenario.zone}
    climates: list[Zone] = [zones[receiver.zone] for receiver in receivers]
    inputs: list[list[Antenna]] = [[antennas[name] for name in receiver.antennas.values()] for receiver in receivers]
    return Sites(
        antenna_m=np.array([[antenna.position_m for antenna in row] for row in inputs], dtype=np.float64),
        antenna_gain_db=np.array([[antenna.gain_dbi - antenna.feed_loss_db for antenna in row] for row in inputs]),
        floor_dbm=np.array([zone.floor_dbm for zone in climates]),
        rician_k=np.array([10.0 ** (zone.rician_k_db / 10.0) for zone in climates]),
        rumble_dbfs=np.array([zone.rumble_dbfs for zone in climates]),
    )
