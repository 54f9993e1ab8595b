"""Everybody who wears a pack: where they are, where they look, and packs that somebody carried elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.paths import Emission, Sent
from simulator.performer import FRONT_RAD, Stance, Walks
from simulator.rows import Seat
from simulator.scenario import Scenario

# Assumption: where a pack was put or somebody stands, others pass by, and the field moves as if it moved so fast.
STIRRED_M_S = 0.25


@dataclass(frozen=True, slots=True)
class Carried:
    """Where a pack was carried to, and whether it is still on a body, which looks somewhere.

    A walk there lasts from one block to another.
    """

    position_m: tuple[float, float, float]
    worn: bool
    heading_rad: float = FRONT_RAD
    from_m: tuple[float, float, float] = (0.0, 0.0, 0.0)
    leaves_block: int = 0
    arrives_block: int = 0

    def at_block(self, block: int) -> NDArray[np.float64]:
        """Where it is in that block."""
        there = np.array(self.position_m)
        if block >= self.arrives_block:
            return there
        share = max(0.0, (block - self.leaves_block) / (self.arrives_block - self.leaves_block))
        return np.asarray(np.array(self.from_m) * (1.0 - share) + there * share)


class Bodies:
    """The places of all packs, by their seats; a block of time has a beginning and an end.

    ``wearers`` [packs] is whose body each pack is on, by the seat of the pack that this body should wear.
    """

    def __init__(self, scenario: Scenario, seats: Sequence[Seat], block_s: float) -> None:
        walks = {walk.name: walk for walk in scenario.walk}
        self._walks = Walks([(walks[seat.spec.walk], seat.spec.walk_offset_s) for seat in seats], block_s)
        self._heights_m = np.array([seat.spec.height_m for seat in seats])
        self._losses_db = np.array([seat.spec.body_loss_db for seat in seats])
        faces = [seat.spec.faces_deg for seat in seats]
        self._faces_rad = np.array([np.nan if each is None else np.radians(each) for each in faces])
        self._carried: dict[int, Carried] = {}
        self._block_s = block_s
        self.wearers = np.arange(len(seats))
        self._ahead = (0, self._walks.at_block(0))

    @property
    def carried(self) -> frozenset[int]:
        """The packs that somebody carried elsewhere, by their seats."""
        return frozenset(self._carried)

    def carry(self, seat: int, carried: Carried | None) -> None:
        """Somebody carries a pack elsewhere, or back to its wearer."""
        if carried is None:
            self._carried.pop(seat, None)
        else:
            self._carried[seat] = carried

    def swap(self, seat: int, other: int) -> None:
        """Two wearers change packs."""
        self.wearers[[seat, other]] = self.wearers[[other, seat]]

    def behind_db(self) -> NDArray[np.float64]:
        """What each wearer's body takes straight behind, [packs]; nothing of a pack that nobody wears."""
        losses_db = self._losses_db[self.wearers]
        for seat, carried in self._carried.items():
            if not carried.worn:
                losses_db[seat] = 0.0
        return losses_db

    def at_block(self, block: int, sent: Sent) -> Emission:
        """Where everybody is in that block, with what their packs send."""
        number, stance = self._ahead
        here = stance if number == block else self._walks.at_block(block)
        ahead = self._walks.at_block(block + 1)
        self._ahead = (block + 1, ahead)
        worn_by = self.wearers
        heading = np.where(np.isnan(self._faces_rad), here.heading_rad, self._faces_rad)[worn_by]
        field, field_ahead, speed = here.field_m[worn_by], ahead.field_m[worn_by], here.speed_m_s[worn_by]
        for seat, carried in self._carried.items():
            heading[seat] = carried.heading_rad
            field[seat], field_ahead[seat] = (self._field_of(carried, moment) for moment in (block, block + 1))
            speed[seat] = np.hypot(*(field_ahead[seat] - field[seat])) / self._block_s
        return Emission(
            position_m=self._places(here, block),
            ahead_m=self._places(ahead, block + 1),
            field_m=field,
            field_ahead_m=field_ahead,
            speed_m_s=speed,
            heading_rad=heading,
            sent=sent,
        )

    def _field_of(self, carried: Carried, block: int) -> NDArray[np.float64]:
        """The place that its field depends on: its own, and the way of those who pass it by."""
        return np.asarray(carried.at_block(block)[:2] + np.array([STIRRED_M_S * self._block_s * block, 0.0]))

    @property
    def silent(self) -> NDArray[np.bool_]:
        """The packs that nobody wears, so that nobody speaks into them, [packs]."""
        unworn = np.zeros(len(self.wearers), dtype=np.bool_)
        unworn[[seat for seat, carried in self._carried.items() if not carried.worn]] = True
        return unworn

    def _places(self, stance: Stance, block: int) -> NDArray[np.float64]:
        position = np.column_stack([stance.position_m, self._heights_m])[self.wearers]
        for seat, carried in self._carried.items():
            position[seat] = carried.at_block(block)
        return position
