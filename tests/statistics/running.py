"""The calibration scenario running, looked at a thousand times a second before any meter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from simulator.scenario_checks import load
from simulator.spectrum import Probe, Tapped
from simulator.world import BLOCK_US, World
from tests.promises.promise import TIER, Tier

SEEDS = tuple(range(7_001, 7_031))
SAMPLES_PER_BLOCK = 100
SAMPLE_S = 0.001
# A soak runs more than ten times as long, for then every mean is held to 5 per cent.
SECONDS = 12 if TIER is Tier.TEST else 160
MARKS = 4
# Rows in the order of the scenario's receivers, and antennas by place.
BETTER, ADDING, ROW, DIRECT_3, DIRECT_6, DIRECT_10 = (slice(MARKS * n, MARKS * (n + 1)) for n in range(6))
SPACINGS_WAVELENGTHS = {0.25: (0, 1), 0.5: (1, 2), 0.75: (0, 2), 1.0: (0, 3)}
DOPPLER_HZ = 3.0
_RECEIVED_DBM = 10.0 + 2.15  # 10 mW e.r.p.


@dataclass(frozen=True, slots=True)
class Run:
    """One seed: ``power`` [rows, branches, samples] over its mean, ``ratio`` [rows, samples] over a branch's mean."""

    power: NDArray[np.float64]
    ratio: NDArray[np.float64]


@cache
def runs(seconds: int = SECONDS) -> tuple[Run, ...]:
    """A run of each seed."""
    return tuple(run(seed, seconds) for seed in SEEDS)


def run(seed: int, seconds: int) -> Run:
    """The world of one seed, for so many seconds."""
    tapped: list[Tapped] = []
    world = World(load("calibration"), seed, Probe(SAMPLES_PER_BLOCK, tapped.append))
    world.advance(seconds * 10 * BLOCK_US)
    mean_mw = 10.0 ** (budget_dbm(world) / 10.0)
    power = (
        np.concatenate([each.wanted_mw for each in tapped], axis=2)
        / np.where(mean_mw > 0.0, mean_mw, np.inf)[..., np.newaxis]
    )
    noise_mw = 10.0 ** (-105.0 / 10.0)
    ratio_db = np.concatenate([each.carrier_to_noise_db for each in tapped], axis=1)
    one_branch_db = 10.0 * np.log10(mean_mw[:, 0] / noise_mw)  # The marks stand as far from East as from West.
    return Run(power, 10.0 ** ((ratio_db - one_branch_db[:, np.newaxis]) / 10.0))


def budget_dbm(world: World) -> NDArray[np.float64]:
    """What each antenna should get of its pack on average, [rows, branches], by ITU-R P.525 written out by hand."""
    scenario = world.scenario
    places = {antenna.name: antenna.position_m for antenna in scenario.antenna}
    marks = {walk.name: walk.points[0][1:] for walk in scenario.walk}
    most = max(len(receiver.antennas) for receiver in scenario.receiver)
    found = np.full((len(world.rows), most), -np.inf)
    for row in world.rows:
        for branch, name in enumerate(row.receiver.antennas.values()):
            x_m, y_m, z_m = places[name]
            away_m = math.dist((x_m, y_m, z_m), (*marks[row.spec.walk], row.spec.height_m))
            loss_db = 20.0 * math.log10(4.0 * math.pi * away_m * row.spec.frequency_hz / 299_792_458.0)
            found[row.index, branch] = _RECEIVED_DBM - loss_db
    return found
