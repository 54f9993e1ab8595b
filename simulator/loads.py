"""Everything that reaches each antenna: all packs, all strangers; what the front ends behind it make of that."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import eirp_dbm_from_erp_mw, mw_from_dbm
from fleet.physics.propagation import free_space_loss_db
from simulator.front_end import Arriving, FrontEnds, front_ends
from simulator.fronts import Listening
from simulator.scenario import Scenario, Stranger
from simulator.spectrum import CAPTURE_HALF_WIDTH_HZ, Emission
from simulator.venue import NEAREST_M, Sites, antennas_of

CHANNEL_HZ = 200_000
STRANGERS_MAXIMUM = 16


@dataclass(frozen=True, slots=True)
class _Arrived:
    """What strangers bring, [antennas + 1] in all, and [rows, branches] on each carrier and as noise under it."""

    all_mw: NDArray[np.float64]
    on_carrier_mw: NDArray[np.float64]
    noise_mw: NDArray[np.float64]


class Loads:
    """The power at all antennas. Strangers stand still and do not fade."""

    def __init__(self, scenario: Scenario, sites: Sites) -> None:
        self.strangers: dict[str, Stranger] = {stranger.name: stranger for stranger in scenario.stranger}
        self._sites = sites
        self._places_m, self._gains_db = antennas_of(scenario)
        self._gain = np.ones(sites.antenna_gain_db.shape)
        self._noise_db = np.zeros(len(sites.antenna))
        nothing = np.zeros(sites.antenna_gain_db.shape)
        self._arrived = _Arrived(np.zeros(len(self._gains_db)), nothing, nothing)

    def set(self, changes_db: NDArray[np.float64], listening: Listening) -> None:
        """Take what lies before the front ends: of each antenna [antennas + 1], and what the receivers are set to."""
        self._gain = 10.0 ** ((changes_db[self._sites.antenna] + listening.input_db) / 10.0)
        self._noise_db = listening.noise_db
        self._arrived = self._strangers_at(listening.tuned_hz)

    def front_ends(self, emission: Emission) -> FrontEnds:
        """The front ends in this moment."""
        arrived = self._arrived
        load_mw = (self._packs_mw(emission) + arrived.all_mw)[self._sites.antenna]
        arriving = Arriving(load_mw, arrived.on_carrier_mw, arrived.noise_mw)
        return front_ends(self._sites, self._gain, arriving, self._noise_db)

    def levels_mw(self, antenna: int, emission: Emission) -> NDArray[np.float64]:
        """What each pack brings to one antenna, [packs], whatever its frequency."""
        away_m = np.sqrt(np.sum((emission.position_m - self._places_m[antenna]) ** 2, axis=1))
        loss_db = free_space_loss_db(np.maximum(away_m, NEAREST_M), emission.frequency_hz.astype(float))
        received_mw = mw_from_dbm(emission.eirp_dbm + self._gains_db[antenna] - loss_db)
        return np.where(emission.on, received_mw, 0.0)

    def stranger_mw(self, antenna: int, stranger: Stranger) -> float:
        """What a stranger brings to one antenna in all."""
        away_m = max(float(np.linalg.norm(np.array(stranger.position_m) - self._places_m[antenna])), NEAREST_M)
        loss_db = free_space_loss_db(away_m, stranger.frequency_hz)
        return float(mw_from_dbm(eirp_dbm_from_erp_mw(stranger.erp_mw) + self._gains_db[antenna] - loss_db))

    def _packs_mw(self, emission: Emission) -> NDArray[np.float64]:
        away_m = np.sqrt(((self._places_m[:, np.newaxis] - emission.position_m[np.newaxis]) ** 2).sum(axis=2))
        frequency_hz = emission.frequency_hz.astype(float)
        loss_db = free_space_loss_db(np.maximum(away_m, NEAREST_M), frequency_hz)
        return np.asarray(mw_from_dbm(emission.eirp_dbm + self._gains_db[:, np.newaxis] - loss_db) @ emission.on)

    def _strangers_at(self, tuned_hz: NDArray[np.int64]) -> _Arrived:
        antenna = self._sites.antenna
        all_mw = np.zeros(len(self._gains_db))
        on_carrier_mw, noise_mw = np.zeros(antenna.shape), np.zeros(antenna.shape)
        for stranger in self.strangers.values():
            each_mw = np.array([self.stranger_mw(number, stranger) for number in range(len(self._gains_db))])
            all_mw += each_mw
            near, share = under(stranger, tuned_hz)
            part = np.where(near, share, 0.0)[:, np.newaxis] * each_mw[antenna]
            if stranger.bandwidth_hz > CHANNEL_HZ:
                noise_mw += part
            else:
                on_carrier_mw += part
        return _Arrived(all_mw, on_carrier_mw, noise_mw)


def under(stranger: Stranger, tuned_hz: NDArray[np.int64]) -> tuple[NDArray[np.bool_], float]:
    """Which carriers lie under a stranger, and what share of its power falls into one of them."""
    if stranger.bandwidth_hz <= CHANNEL_HZ:
        return np.abs(tuned_hz - stranger.frequency_hz) < CAPTURE_HALF_WIDTH_HZ + stranger.bandwidth_hz / 2, 1.0
    return np.abs(tuned_hz - stranger.frequency_hz) < stranger.bandwidth_hz / 2, CHANNEL_HZ / stranger.bandwidth_hz
