"""Packs that stand still, for tests of the radio alone."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulator.paths import Emission, Sent


def still(
    places_m: Sequence[Sequence[float]],
    frequencies_hz: Sequence[int] = (),
    *,
    on: Sequence[bool] = (),
    eirp_dbm: float = 0.0,
    heading_deg: float = -90.0,
    behind_db: float = 0.0,
) -> Emission:
    """What packs at these places send; all are on the air, at 520 MHz, unless it is said otherwise."""
    packs = len(places_m)
    place = np.array(places_m, dtype=np.float64)
    sent = Sent(
        eirp_dbm=np.full(packs, eirp_dbm),
        behind_db=np.full(packs, behind_db),
        frequency_hz=np.array(frequencies_hz or [520_000_000] * packs, dtype=np.int64),
        on=np.array(on or [True] * packs),
    )
    still_m = place[:, :2]
    return Emission(place, place, still_m, still_m, np.zeros(packs), np.full(packs, np.radians(heading_deg)), sent)


def strolling(emission: Emission, block: int, speed_m_s: float = 1.0) -> Emission:
    """The same packs in that block of a tenth of a second, marking time at a pace along x."""
    step = np.array([speed_m_s * 0.1, 0.0])
    before, after = emission.field_m + block * step, emission.field_m + (block + 1) * step
    speed = np.full(len(emission.speed_m_s), speed_m_s)
    return Emission(emission.position_m, emission.ahead_m, before, after, speed, emission.heading_rad, emission.sent)
