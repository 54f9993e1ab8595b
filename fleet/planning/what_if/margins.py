"""How far each carrier stands above noise, products and others on its frequency, at the best antenna of its zone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import mw_from_dbm
from fleet.planning.what_if.levels import levels_dbm, noise_mw
from fleet.planning.what_if.product_sums import product_sums
from fleet.planning.what_if.site import Site
from fleet.planning.what_if.worst_products import Candidates, WorstProduct

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Margins:
    """Margins of one carrier in dB: over noise, over all products in its channel, over others on its frequency.

    ``over_all_db`` is over the three together. A margin is None where nothing is there. ``antenna`` is the one of its
    zone at which ``over_all_db`` is greatest, and ``level_dbm`` the carrier's there.
    """

    antenna: str
    level_dbm: float
    over_noise_db: float
    over_products_db: float | None
    over_others_db: float | None
    over_all_db: float
    worst: WorstProduct | None


def margins(site: Site) -> tuple[Margins | None, ...]:
    """The margins of each transmitter of a site, in their order; None of those that nobody receives."""
    best: list[Margins | None] = [None] * len(site.transmitters)
    levels = levels_dbm(site)
    for number in range(len(site.antennas)):
        for index, found in _at_antenna(site, number, levels[number]):
            kept = best[index]
            if kept is None or found.over_all_db > kept.over_all_db:
                best[index] = found
    return tuple(best)


def _at_antenna(site: Site, number: int, level_dbm: Floats) -> list[tuple[int, Margins]]:
    """The margins at one antenna of all that it serves, with their places in the site."""
    antenna = site.antennas[number]
    served = [index for index, each in enumerate(site.transmitters) if each.received and each.zone == antenna.zone]
    if not served:
        return []
    carriers = tuple(site.transmitters[index] for index in served)
    frequency_hz = np.array([each.frequency_hz for each in site.transmitters], dtype=np.int64)
    power_mw = mw_from_dbm(level_dbm)
    half_width_hz = np.array([each.bandwidth_hz / 2.0 for each in carriers])
    sums = product_sums(frequency_hz, power_mw, antenna.intercept_dbm)
    products_mw = sums.within_mw(frequency_hz[served], half_width_hz)
    others_mw = _others_mw(frequency_hz, power_mw, np.array(served), half_width_hz)
    under_mw = noise_mw(antenna, site.blocks, carriers)
    names = [(each.group, each.frequency_hz) for each in site.transmitters]
    candidates = Candidates(names, level_dbm, antenna.intercept_dbm)
    return [
        (
            index,
            Margins(
                antenna=antenna.name,
                level_dbm=float(level_dbm[index]),
                over_noise_db=_over_db(power_mw[index], under_mw[at]),
                over_products_db=_margin_db(power_mw[index], products_mw[at]),
                over_others_db=_margin_db(power_mw[index], others_mw[at]),
                over_all_db=_over_db(power_mw[index], under_mw[at] + products_mw[at] + others_mw[at]),
                worst=candidates.worst(int(frequency_hz[index]), float(half_width_hz[at])),
            ),
        )
        for at, index in enumerate(served)
    ]


def _others_mw(
    frequency_hz: NDArray[np.int64], power_mw: Floats, served: NDArray[np.int64], half_width_hz: Floats
) -> Floats:
    """What others bring less than a half width from each served carrier's frequency, [served]."""
    apart_hz = np.abs(frequency_hz[served][:, np.newaxis] - frequency_hz[np.newaxis, :])
    near = apart_hz < half_width_hz[:, np.newaxis]
    near[np.arange(len(served)), served] = False
    return np.asarray(near @ power_mw)


def _over_db(carrier_mw: float, other_mw: float) -> float:
    return float(10.0 * np.log10(carrier_mw / other_mw))


def _margin_db(carrier_mw: float, other_mw: float) -> float | None:
    return _over_db(carrier_mw, other_mw) if other_mw > 0.0 else None
