"""How far each carrier stands above noise, products and others on its frequency, at the best antenna of its zone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.forecast import CarrierMargins
from fleet.physics.decibels import mw_from_dbm
from fleet.planning.what_if.known_carriers import name_of
from fleet.planning.what_if.levels import levels_dbm, noise_mw
from fleet.planning.what_if.product_sums import product_sums
from fleet.planning.what_if.site import Site
from fleet.planning.what_if.worst_products import Candidates

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Heard:
    """What there is in each carrier's channel at each antenna, [antennas, transmitters], in milliwatts."""

    carrier_mw: Floats
    noise_mw: Floats
    products_mw: Floats
    others_mw: Floats

    @property
    def ratio(self) -> Floats:
        """Each carrier over all that is against it."""
        return self.carrier_mw / (self.noise_mw + self.products_mw + self.others_mw)


def margins(site: Site) -> tuple[CarrierMargins | None, ...]:
    """The margins of each transmitter of a site, in their order; None of those that nobody receives."""
    if not site.transmitters or not site.antennas:
        return (None,) * len(site.transmitters)
    levels = levels_dbm(site)
    serves = np.array(
        [[each.received and each.zone == antenna.zone for each in site.transmitters] for antenna in site.antennas]
    )
    heard = _heard(site, levels, serves)
    best = np.where(serves, heard.ratio, -1.0).argmax(axis=0)
    found: list[CarrierMargins | None] = [None] * len(site.transmitters)
    for number in range(len(site.antennas)):
        chosen = np.flatnonzero((best == number) & serves[number])
        if chosen.size:
            _fill(found, site, heard, levels[number], (number, chosen))
    return tuple(found)


def _heard(site: Site, levels: Floats, serves: NDArray[np.bool_]) -> _Heard:
    frequency_hz = np.array([each.frequency_hz for each in site.transmitters], dtype=np.int64)
    half_width_hz = np.array([each.bandwidth_hz / 2.0 for each in site.transmitters])
    victims, others = _on_one_frequency(frequency_hz, half_width_hz)
    heard = _Heard(mw_from_dbm(levels), np.ones_like(levels), np.zeros_like(levels), np.zeros_like(levels))
    for number in np.flatnonzero(serves.any(axis=1)):
        antenna, power_mw = site.antennas[number], heard.carrier_mw[number]
        heard.noise_mw[number] = noise_mw(antenna, site.blocks, site.transmitters)
        sums = product_sums(frequency_hz, power_mw, antenna.intercept_dbm)
        heard.products_mw[number] = sums.within_mw(frequency_hz, half_width_hz)
        np.add.at(heard.others_mw[number], victims, power_mw[others])
    return heard


def _on_one_frequency(frequency_hz: NDArray[np.int64], half_width_hz: Floats) -> tuple[Indices, Indices]:
    """All pairs of a carrier and another that stands less than half its bandwidth from its middle."""
    near = np.abs(frequency_hz[:, np.newaxis] - frequency_hz[np.newaxis, :]) < half_width_hz[:, np.newaxis]
    np.fill_diagonal(near, val=False)
    victims, others = np.nonzero(near)
    return victims, others


def _fill(
    found: list[CarrierMargins | None], site: Site, heard: _Heard, level_dbm: Floats, at: tuple[int, Indices]
) -> None:
    """Put in the margins of those carriers that stand best at one antenna, by its number."""
    number, chosen = at
    antenna = site.antennas[number]
    candidates = Candidates([name_of(each) for each in site.transmitters], level_dbm, antenna.intercept_dbm)
    ratio = heard.ratio[number]
    for index in chosen:
        each, carrier_mw = site.transmitters[index], heard.carrier_mw[number, index]
        found[index] = CarrierMargins(
            antenna=antenna.name,
            level_dbm=float(level_dbm[index]),
            over_noise_db=_decibels(carrier_mw / heard.noise_mw[number, index]),
            over_products_db=_margin_db(carrier_mw, heard.products_mw[number, index]),
            over_others_db=_margin_db(carrier_mw, heard.others_mw[number, index]),
            over_all_db=_decibels(ratio[index]),
            worst=candidates.worst(each.frequency_hz, each.bandwidth_hz / 2.0),
        )


def _decibels(ratio: float) -> float:
    return float(10.0 * np.log10(ratio))


def _margin_db(carrier_mw: float, other_mw: float) -> float | None:
    return _decibels(carrier_mw / other_mw) if other_mw > 0.0 else None
