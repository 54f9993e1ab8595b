"""The venue: its antennas, and what each receiver stands in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.scenario import Receiver, Scenario, Zone

# Nobody holds a pack against an antenna; it also keeps free space out of the near field.
NEAREST_M = 0.5
DEAF_DB = -300.0


@dataclass(frozen=True, slots=True)
class Sites:
    """What each row's receiver stands in: ``antenna`` [rows, branches] and the rest [rows].

    A row with fewer antenna inputs than another has deaf ones in the places that are left; ``antenna`` is the number of
    the scenario's antenna there, or one beyond the last, and ``branch_counts`` how many there really are.
    ``adds_branches`` [rows] says whose diversity adds its branches by their ratios.
    """

    antenna: NDArray[np.intp]
    branch_counts: tuple[int, ...]
    floor_dbm: NDArray[np.float64]
    rician_k: NDArray[np.float64]
    adds_branches: NDArray[np.bool_]

    @property
    def deaf(self) -> NDArray[np.bool_]:
        """Which antenna inputs there aren't, [rows, branches]."""
        return np.arange(self.antenna.shape[1]) >= np.array(self.branch_counts)[:, np.newaxis]


def sites_of(scenario: Scenario, receivers: Sequence[Receiver]) -> Sites:
    """The sites of the receivers, one a row."""
    numbers = {antenna.name: number for number, antenna in enumerate(scenario.antenna)}
    zones = {zone.name: zone for zone in scenario.zone}
    climates: list[Zone] = [zones[receiver.zone] for receiver in receivers]
    most = max(len(receiver.antennas) for receiver in receivers)
    none = len(scenario.antenna)
    inputs = [[numbers[name] for name in receiver.antennas.values()] for receiver in receivers]
    antenna = np.array([row + [none] * (most - len(row)) for row in inputs], dtype=np.intp)
    return Sites(
        antenna=antenna,
        branch_counts=tuple(len(row) for row in inputs),
        floor_dbm=np.array([zone.floor_dbm for zone in climates]),
        rician_k=np.array([10.0 ** (zone.rician_k_db / 10.0) for zone in climates]),
        adds_branches=np.array([receiver.diversity == "maximum_ratio" for receiver in receivers]),
    )


def antennas_of(scenario: Scenario) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Place [antennas + 1, 3] and gain less feed loss [antennas + 1] of all antennas, and of a deaf one last."""
    places = [antenna.position_m for antenna in scenario.antenna]
    gains = [antenna.gain_dbi - antenna.feed_loss_db for antenna in scenario.antenna]
    return np.array([*places, places[-1]], dtype=np.float64), np.array([*gains, DEAF_DB])
