"""What every transmitter brings to every antenna, and what noise lies under it there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import mw_from_dbm
from fleet.physics.propagation import free_space_loss_db
from fleet.planning.what_if.site import USUAL_BANDWIDTH_HZ, Antenna, Block, Site, Transmitter

Levels = NDArray[np.float64]
# Nobody holds a pack against an antenna; closer than this, free space is no model any more.
NEAREST_M = 0.5


def levels_dbm(site: Site) -> Levels:
    """Levels at the receivers' inputs, [antennas, transmitters]: free space (ITU-R P.525), gain, the stated body loss.

    At another zone's antennas, with an isolation that was measured between the two, it is the best level in the own
    zone less that isolation, wherever the two stand; minus infinity where nothing is heard.
    """
    found = _open_levels_dbm(site)
    antenna_zones = np.array([antenna.zone for antenna in site.antennas])
    zones = np.array([each.zone for each in site.transmitters])
    for zone in dict.fromkeys(each.zone for each in site.transmitters):
        mine = np.flatnonzero(zones == zone)
        own = np.flatnonzero(antenna_zones == zone)
        for number, antenna in enumerate(site.antennas):
            between = site.between(zone, antenna.zone) if antenna.zone != zone else None
            if between is not None:
                isolation_db = np.inf if between.isolation_db is None else between.isolation_db
                reference = own if own.size else np.array([number])
                found[number, mine] = found[np.ix_(reference, mine)].max(axis=0) - isolation_db
    return found


def _open_levels_dbm(site: Site) -> Levels:
    """Levels with nothing but distance and body on the way."""
    at_m = np.array([antenna.position_m for antenna in site.antennas], dtype=np.float64).reshape(-1, 1, 2)
    from_m = np.array([each.position_m or (0.0, 0.0) for each in site.transmitters], dtype=np.float64).reshape(1, -1, 2)
    away_m = np.sqrt(((at_m - from_m) ** 2).sum(axis=-1))
    for number, each in enumerate(site.transmitters):
        if each.distance_m is not None:
            away_m[:, number] = each.distance_m
    frequency_hz = np.array([each.frequency_hz for each in site.transmitters], dtype=np.float64)
    loss_db = free_space_loss_db(np.maximum(away_m, NEAREST_M), frequency_hz)
    sent_dbm = np.array([each.eirp_dbm - each.body_loss_db for each in site.transmitters])
    gain_db = np.array([antenna.gain_db for antenna in site.antennas]).reshape(-1, 1)
    return np.asarray(sent_dbm + gain_db - loss_db)


def noise_mw(antenna: Antenna, blocks: tuple[Block, ...], carriers: tuple[Transmitter, ...]) -> Levels:
    """Noise in each carrier's bandwidth at an antenna, [carriers]: the site's, and each block's part that covers it."""
    bandwidth_hz = np.array([each.bandwidth_hz for each in carriers], dtype=np.float64)
    middle_hz = np.array([each.frequency_hz for each in carriers], dtype=np.float64)
    found = mw_from_dbm(antenna.noise_dbm) * bandwidth_hz / USUAL_BANDWIDTH_HZ
    for block in blocks:
        top_hz = np.minimum(middle_hz + bandwidth_hz / 2.0, block.stop_hz)
        foot_hz = np.maximum(middle_hz - bandwidth_hz / 2.0, block.start_hz)
        share = np.maximum(top_hz - foot_hz, 0.0) / (block.stop_hz - block.start_hz)
        found = found + mw_from_dbm(block.level_dbm) * share
    return np.asarray(found)


def load_dbm(site: Site) -> Levels:
    """All that reaches each antenna's receivers together, carriers and blocks, [antennas]; minus infinity for none."""
    blocks_mw = float(np.sum([mw_from_dbm(block.level_dbm) for block in site.blocks]))
    all_mw = mw_from_dbm(levels_dbm(site)).sum(axis=1) + blocks_mw
    found_dbm = np.full(len(all_mw), -np.inf)
    found_dbm[all_mw > 0.0] = 10.0 * np.log10(all_mw[all_mw > 0.0])
    return found_dbm
