"""How far the return links to the packs reach, from which antennas, and how long they take."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simulator.rows import Seat
from simulator.scenario import Scenario
from simulator.scenario_gear import AccessPoint


class Reaches:
    """The return links of all packs: from the antennas of the access point that controls one, or of its receiver."""

    def __init__(self, scenario: Scenario, seats: Sequence[Seat]) -> None:
        places = {antenna.name: antenna.position_m for antenna in scenario.antenna}
        points = {point.id: point for point in scenario.access_point}
        through = [points.get(seat.controller) for seat in seats]
        names = [_antennas(seat, point) for seat, point in zip(seats, through, strict=True)]
        most = max(len(own) for own in names)
        self._places_m = np.array([[places[name] for name in (own * most)[:most]] for own in names])
        self._range_m = np.array(
            [
                seat.receiver.return_link_range_m if point is None else point.range_m
                for seat, point in zip(seats, through, strict=True)
            ]
        )
        self.delays_ms = tuple(
            seat.receiver.return_link_delay_ms if point is None else point.delay_ms
            for seat, point in zip(seats, through, strict=True)
        )

    def in_range(self, positions_m: NDArray[np.float64]) -> list[bool]:
        """Whose pack is near enough, for packs at [packs, 3]."""
        away_m = np.sqrt(((self._places_m - positions_m[:, np.newaxis]) ** 2).sum(axis=2)).min(axis=1)
        near: list[bool] = (away_m <= self._range_m).tolist()
        return near


def _antennas(seat: Seat, point: AccessPoint | None) -> list[str]:
    return [point.antenna] if point is not None else list(seat.receiver.antennas.values())
