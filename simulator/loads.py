"""Everything that reaches each antenna: all packs, all strangers; what the front ends behind it make of that."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import eirp_dbm_from_erp_mw, mw_from_dbm
from simulator.front_end import Arriving, FrontEnds, front_ends
from simulator.fronts import Listening
from simulator.interference import PRODUCT_HALF_WIDTH_HZ, Interference, Products, front_end_products
from simulator.paths import Emission, Paths
from simulator.scenario import Scenario, Stranger
from simulator.venue import Sites
from simulator.ways import CAPTURE_HALF_WIDTH_HZ

CHANNEL_HZ = 200_000
STRANGERS_MAXIMUM = 16
# Walls and shadows are looked up for what is stronger than this at an antenna; what is weaker changes nothing there.
_NOTABLE_DBM = -62.0
_SILENT_DBM = -300.0


class Loads:
    """The power at all antennas. Strangers stand still and do not fade."""

    def __init__(self, scenario: Scenario, sites: Sites, paths: Paths, packs: int) -> None:
        self.strangers: dict[str, Stranger] = {stranger.name: stranger for stranger in scenario.stranger}
        self._sites, self._paths = sites, paths
        self._gain = np.ones(sites.antenna.shape)
        self._noise_db = np.zeros(len(sites.antenna))
        self._tuned_hz = np.zeros(len(sites.antenna), dtype=np.int64)
        self._interference = Interference(len(sites.antenna), packs)
        self._antennas = np.arange(len(paths.gains_db))

    def set(self, changes_db: NDArray[np.float64], listening: Listening, emission: Emission) -> None:
        """Take what lies before the front ends: of each antenna [antennas + 1], and what the receivers are set to."""
        self._gain = 10.0 ** ((changes_db[self._sites.antenna] + listening.input_db) / 10.0)
        self._noise_db, self._tuned_hz = listening.noise_db, listening.tuned_hz
        self._interference.tune(listening.tuned_hz, emission.sent.frequency_hz, emission.sent.on)

    def look(self, emission: Emission) -> NDArray[np.float64]:
        """What all packs bring to all antennas on average, [antennas + 1, packs]; -300 where one is silent."""
        packs = np.broadcast_to(np.arange(len(emission.sent.on)), (len(self._antennas), len(emission.sent.on)))
        antenna = np.broadcast_to(self._antennas[:, np.newaxis], packs.shape)
        frequency_hz = emission.sent.frequency_hz.astype(float)
        open_db = self._paths.open_gain_db(antenna, emission.position_m[np.newaxis], frequency_hz)
        level_dbm = emission.sent.eirp_dbm + open_db - self._paths.body_db(antenna, packs, emission)
        level_dbm = np.where(emission.sent.on, level_dbm, _SILENT_DBM)
        at, of = np.nonzero(level_dbm > _NOTABLE_DBM)
        level_dbm[at, of] -= self._paths.obstacles_db(at, emission.position_m[of])
        return np.asarray(level_dbm)

    def front_ends(self, levels_dbm: NDArray[np.float64], emission: Emission, now_s: float) -> FrontEnds:
        """The front ends in this moment of the world, at levels that were looked at."""
        antenna = self._sites.antenna
        levels_mw = mw_from_dbm(levels_dbm)
        strangers = self.on_air(now_s)
        each_mw = self._strangers_mw(strangers)
        on_carrier_mw, noise_mw = self._strangers_at(strangers, each_mw)
        load_mw = levels_mw.sum(axis=1) + each_mw.sum(axis=1)
        beside_mw = self._interference.adjacent_mw(levels_mw, antenna) + self._interference.mixed_mw(
            levels_dbm, emission, antenna
        )
        product_mw = self._products_mw(levels_dbm, emission, strangers, each_mw)
        arriving = Arriving(load_mw[antenna], on_carrier_mw, noise_mw, beside_mw, product_mw)
        return front_ends(self._sites, self._gain, arriving, self._noise_db)

    def on_air(self, now_s: float) -> list[Stranger]:
        """The strangers that are on the air in this moment of the world."""
        return [
            each
            for each in self.strangers.values()
            if each.on_s <= now_s and (each.off_s is None or now_s < each.off_s)
        ]

    def levels_mw(self, antenna: int, emission: Emission) -> NDArray[np.float64]:
        """What each pack brings to one antenna, [packs], whatever its frequency."""
        return mw_from_dbm(self.look(emission)[antenna])

    def stranger_mw(self, antenna: int, stranger: Stranger) -> float:
        """What a stranger brings to one antenna in all."""
        return float(self._strangers_mw([stranger])[antenna, 0])

    def products(self, antenna: int, emission: Emission, now_s: float) -> Products:
        """The third-order products that a front end at an antenna makes of all that is there."""
        strangers = self.on_air(now_s)
        each_mw = self._strangers_mw(strangers)
        return self._products_at(antenna, self.look(emission), emission, strangers, each_mw)

    def _strangers_mw(self, strangers: list[Stranger]) -> NDArray[np.float64]:
        """What each stranger brings to each antenna, [antennas + 1, strangers]."""
        if not strangers:
            return np.zeros((len(self._antennas), 0))
        place_m = np.array([each.position_m for each in strangers], dtype=np.float64)
        frequency_hz = np.array([each.frequency_hz for each in strangers], dtype=np.float64)
        eirp_dbm = np.array([eirp_dbm_from_erp_mw(each.erp_mw) for each in strangers])
        antenna = np.broadcast_to(self._antennas[:, np.newaxis], (len(self._antennas), len(strangers)))
        places_m = np.broadcast_to(place_m, (*antenna.shape, 3))
        obstacles_db = self._paths.obstacles_db(antenna, places_m)
        return mw_from_dbm(eirp_dbm + self._paths.open_gain_db(antenna, places_m, frequency_hz) - obstacles_db)

    def _strangers_at(
        self, strangers: list[Stranger], each_mw: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """What strangers put on each carrier, and as noise under it, [rows, branches] each."""
        antenna = self._sites.antenna
        on_carrier_mw, noise_mw = np.zeros(antenna.shape), np.zeros(antenna.shape)
        for number, stranger in enumerate(strangers):
            near, share = under(stranger, self._tuned_hz)
            part = np.where(near, share, 0.0)[:, np.newaxis] * each_mw[antenna, number]
            if stranger.bandwidth_hz > CHANNEL_HZ:
                noise_mw += part
            else:
                on_carrier_mw += part
        return on_carrier_mw, noise_mw

    def _products_mw(
        self,
        levels_dbm: NDArray[np.float64],
        emission: Emission,
        strangers: list[Stranger],
        each_mw: NDArray[np.float64],
    ) -> NDArray[np.float64]:
        """What products of the front ends put on each carrier, [rows, branches]."""
        antenna = self._sites.antenna
        found_mw = np.zeros(antenna.shape)
        for number in self._antennas[:-1]:
            made = self._products_at(int(number), levels_dbm, emission, strangers, each_mw)
            if not len(made.frequency_hz):
                continue
            rows, branches = np.nonzero(antenna == number)
            hits = np.abs(self._tuned_hz[rows][:, np.newaxis] - made.frequency_hz) < PRODUCT_HALF_WIDTH_HZ
            found_mw[rows, branches] = hits @ mw_from_dbm(made.level_dbm)
        return found_mw

    def _products_at(
        self,
        antenna: int,
        levels_dbm: NDArray[np.float64],
        emission: Emission,
        strangers: list[Stranger],
        each_mw: NDArray[np.float64],
    ) -> Products:
        narrow = [number for number, each in enumerate(strangers) if each.bandwidth_hz <= CHANNEL_HZ]
        hz = np.array([strangers[number].frequency_hz for number in narrow], dtype=np.int64)
        dbm = 10.0 * np.log10(each_mw[antenna, narrow])
        return front_end_products(
            np.concatenate([emission.sent.frequency_hz, hz]), np.concatenate([levels_dbm[antenna], dbm])
        )


def under(stranger: Stranger, tuned_hz: NDArray[np.int64]) -> tuple[NDArray[np.bool_], float]:
    """Which carriers lie under a stranger, and what share of its power falls into one of them."""
    if stranger.bandwidth_hz <= CHANNEL_HZ:
        return np.abs(tuned_hz - stranger.frequency_hz) < CAPTURE_HALF_WIDTH_HZ + stranger.bandwidth_hz / 2, 1.0
    return np.abs(tuned_hz - stranger.frequency_hz) < stranger.bandwidth_hz / 2, CHANNEL_HZ / stranger.bandwidth_hz
