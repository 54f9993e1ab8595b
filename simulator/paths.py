"""The ways from packs to antennas: distance, bodies, walls, shadows; all of it a mean that fading flutters about."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.body import body_shadow_db
from fleet.physics.indoor import INDOOR_PLACES, site_general_loss_db
from fleet.physics.propagation import free_space_loss_db
from fleet.physics.shadowing import ShadowField, shadow_field
from fleet.physics.walls import crossings
from simulator.luck import Luck
from simulator.scenario import Scenario, Wall
from simulator.venue import NEAREST_M, antennas_of

# A shadow is the sum of so many waves.
_WAVES = 48


@dataclass(frozen=True, slots=True)
class Sent:
    """What all packs are set to send, [packs] each; ``on`` is false for one that sends nothing.

    ``eirp_dbm`` is what leaves a pack off any body; ``behind_db`` what its wearer's body takes straight behind, 0 for a
    pack that nobody wears.
    """

    eirp_dbm: NDArray[np.float64]
    behind_db: NDArray[np.float64]
    frequency_hz: NDArray[np.int64]
    on: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Emission:
    """What all packs send in one block, and where they are.

    ``position_m`` [packs, 3] is the place at its beginning and ``ahead_m`` that at its end; ``field_m`` and
    ``field_ahead_m`` [packs, 2] are those that the small-scale field depends on. ``heading_rad`` [packs] is where the
    wearers look.
    """

    position_m: NDArray[np.float64]
    ahead_m: NDArray[np.float64]
    field_m: NDArray[np.float64]
    field_ahead_m: NDArray[np.float64]
    speed_m_s: NDArray[np.float64]
    heading_rad: NDArray[np.float64]
    sent: Sent


class Paths:
    """All antennas of a venue, [antennas + 1] with a deaf one last, and what stands between them and anybody."""

    def __init__(self, scenario: Scenario, luck: Luck) -> None:
        self.places_m, self.gains_db = antennas_of(scenario)
        self._indoor = INDOOR_PLACES.get(scenario.venue.indoor)
        self._walls_m, self._wall_db = _walls_of(scenario.wall)
        names = [antenna.name for antenna in scenario.antenna]
        self._shadows = [_shadow_of(scenario, name, luck) for name in names] if scenario.venue.shadow_db > 0.0 else []

    def open_gain_db(
        self, antenna: NDArray[np.intp], place_m: NDArray[np.float64], frequency_hz: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Gain of ways with nothing between: free space or indoors, antenna and feed; shapes [...] and [..., 3]."""
        away_m = self.distances_m(antenna, place_m)
        if self._indoor is None:
            loss_db = free_space_loss_db(away_m, frequency_hz)
        else:
            loss_db = site_general_loss_db(self._indoor, away_m, frequency_hz)
        return np.asarray(self.gains_db[antenna] - loss_db)

    def distances_m(self, antenna: NDArray[np.intp], place_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """From antennas [...] to places [..., 3], half a metre at the least."""
        away = self.places_m[antenna] - place_m
        return np.asarray(np.maximum(np.sqrt(np.sum(away**2, axis=-1)), NEAREST_M))

    def obstacles_db(self, antenna: NDArray[np.intp], place_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """What walls and shadows take of ways from places [..., 3] to antennas [...]; a shadow may also give."""
        flat, places = antenna.ravel(), place_m.reshape(-1, 3)[:, :2]
        loss_db = np.zeros(len(flat))
        if len(self._walls_m):
            loss_db += crossings(places, self.places_m[flat, :2], self._walls_m) @ self._wall_db
        for number, shadow in enumerate(self._shadows):
            here = np.flatnonzero(flat == number)
            if here.size:
                loss_db[here] += shadow.at(places[here])
        return loss_db.reshape(antenna.shape)

    def body_db(self, antenna: NDArray[np.intp], packs: NDArray[np.intp], emission: Emission) -> NDArray[np.float64]:
        """What the wearers' bodies take of the ways from packs to antennas, shapes [...] alike."""
        away = self.places_m[antenna, :2] - emission.position_m[packs, :2]
        azimuth_rad = np.arctan2(away[..., 1], away[..., 0]) - emission.heading_rad[packs]
        return body_shadow_db(azimuth_rad, emission.sent.behind_db[packs])


def _walls_of(walls: tuple[Wall, ...]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """All straight pieces [pieces, 2, 2], and what each takes, [pieces]."""
    pieces = [(piece, wall.loss_db) for wall in walls for piece in zip(wall.points, wall.points[1:], strict=False)]
    return np.array([piece for piece, _ in pieces]).reshape(-1, 2, 2), np.array([loss_db for _, loss_db in pieces])


def _shadow_of(scenario: Scenario, name: str, luck: Luck) -> ShadowField:
    venue = scenario.venue
    draws = luck.generator(f"shadow of {name}").uniform(size=(_WAVES, 3))
    return shadow_field(draws, venue.shadow_db, venue.shadow_distance_m)
