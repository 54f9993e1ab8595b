"""The running world as its receivers' meters show it: fading, floor, link budget, the slope of products."""

from __future__ import annotations

from functools import cache

import msgspec
import numpy as np
import pytest
from numpy.typing import NDArray

from simulator.scenario import Scenario, decode
from simulator.scenario_checks import checked, load
from simulator.world import BLOCK_US, World
from tests.promises.promise import TIER, Tier
from tests.statistics.estimates import agrees
from tests.statistics.running import BETTER, MARKS, SEEDS, budget_dbm

SECONDS = 24 if TIER is Tier.TEST else 400
DIRECT_10 = slice(MARKS, 2 * MARKS)
# So slow that a meter's tenth of a second is a moment of the field: 0.3 Hz at 600 MHz, by hand.
SLOW_M_S = 0.15


def _slow() -> Scenario:
    """The calibration scenario at that pace, with the two receivers that are looked at here."""
    stage = load("calibration")
    chosen = tuple(receiver for receiver in stage.receiver if receiver.id in {"cal-better", "cal-direct-10"})
    return msgspec.structs.replace(
        stage, receiver=chosen, walk=tuple(msgspec.structs.replace(walk, pace_m_s=SLOW_M_S) for walk in stage.walk)
    )


@cache
def _read(seed: int) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Levels over their budget [blocks, rows], floors [blocks, rows], and the budgets [rows] of the first branch."""
    world = World(_slow(), seed)
    levels, floors = [], []
    for block in range(SECONDS * 10):
        world.advance((block + 1) * BLOCK_US)
        meters = world.meters(block - 1)
        levels.append([row[0] for row in meters.rf_dbm])
        floors.append([row[0] for row in meters.floor_dbm])
    budget = budget_dbm(world)[:, 0]
    return np.array(levels) - budget, np.array(floors), budget


def test_share_of_readings_ten_decibels_below_the_mean() -> None:
    """Rayleigh: 0.095163 of the time at -10 dB about the mean power."""
    agrees([np.mean(_read(seed)[0][:, BETTER] < -10.0) for seed in SEEDS], 0.095163, "share of readings below -10 dB")


def test_levels_are_the_link_budget() -> None:
    """10 mW e.r.p. and ITU-R P.525 by hand; with most of the power on the direct path the mean comes fast."""
    power = [np.mean(10.0 ** (_read(seed)[0][:, DIRECT_10] / 10.0)) for seed in SEEDS]
    assert 10.0 * np.log10(np.mean(power)) == pytest.approx(0.0, abs=0.5)


def test_levels_fall_over_distance_as_free_space_says() -> None:
    """Regressed on the logarithm of distance: 20 dB for each factor of ten (P.525), the four marks 26 to 38 m away."""
    over = np.mean([10.0 ** (_read(seed)[0][:, DIRECT_10] / 10.0) for seed in SEEDS], axis=(0, 1))
    budget = _read(SEEDS[0])[2][DIRECT_10]
    found = 10.0 * np.log10(over) + budget
    assert np.ptp(budget) > 2.0
    assert found == pytest.approx(budget, abs=0.5)


def test_floor_is_the_sites() -> None:
    """What the scenario states: -105 dBm, the site's and the receiver's own noise together."""
    assert np.mean([_read(seed)[1] for seed in SEEDS[:3]]) == pytest.approx(-105.0, abs=0.1)


MAKERS = """
name = "Two makers and a listener"

[venue]
minimum_m = [-10.0, -10.0]
maximum_m = [10.0, 10.0]

[[zone]]
name = "Stage"
rician_k_db = 30.0
rumble_dbfs = -80.0

[[antenna]]
name = "Near"
position_m = [0.0, 0.0, 1.3]

[[walk]]
name = "Here"
points = [[0, 0.0, 5.0]]

[[walk]]
name = "There"
points = [[0, 0.0, -5.0]]

[[receiver]]
id = "rack-1"
zone = "Stage"
form = "receiver of three channels"
antennas = { a = "Near" }
rf_power_steps_mw = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0]
"""
CHANNEL = """
[[receiver.channel]]
part = "{pack}"
pack = "{pack}"
frequency_hz = {hz}
walk = "{walk}"
rf_power_mw = 1.0
body_loss_db = 0.0
talk = 0.0
"""


def _product_dbm(power_mw: float) -> tuple[float, float]:
    """What the meters show of a maker and on the silent third channel, where 2A - B falls."""
    text = MAKERS + "".join(
        CHANNEL.format(pack=pack, hz=hz, walk=walk)
        for pack, hz, walk in (
            ("one", 601_000_000, "Here"),
            ("two", 602_000_000, "There"),
            ("mute", 600_000_000, "Here"),
        )
    )
    world = World(checked("makers.toml", decode("makers.toml", text)), 1)
    for pack in world.packs[:2]:
        pack.settings["rf_power_mw"] = power_mw
    world.packs[2].apply({"standby": True})
    world.touch()
    world.advance(40 * BLOCK_US)
    meters = [world.meters(number) for number in range(10, 39)]
    maker, product = (float(np.mean([each.rf_dbm[row][0] for each in meters])) for row in (0, 2))
    return maker, product


def test_products_rise_three_decibels_for_each_decibel_as_a_sampled_cubic_does() -> None:
    """The oracle is the spectrum of x + c x^3 by numpy's FFT: its product's slope and its distance to the intercept."""
    steps_mw = (4.0, 8.0, 16.0)
    makers, products = (np.array(each) for each in zip(*(_product_dbm(step) for step in steps_mw), strict=True))
    slope = np.polyfit(makers, products, 1)[0]
    assert slope == pytest.approx(_cubic_slope(), abs=0.1)
    assert products == pytest.approx([_cubic_product_dbm(level) for level in makers], abs=0.5)


def _cubic_product_dbm(level_dbm: float, intercept_dbm: float = -7.5) -> float:
    """2A - B of two tones through a cubic with that intercept: amplitudes as volts over one milliwatt's."""
    samples = 4_096
    time = np.arange(samples) / samples
    amplitude, intercept = (10.0 ** (dbm / 20.0) * np.sqrt(2.0) for dbm in (level_dbm, intercept_dbm))
    tones = amplitude * (np.cos(2 * np.pi * 601 * time) + np.cos(2 * np.pi * 602 * time))
    bent = tones - 4.0 / (3.0 * intercept**2) * tones**3
    return float(20.0 * np.log10(np.abs(np.fft.rfft(bent)[600]) / (samples / 2) / np.sqrt(2.0)))


def _cubic_slope() -> float:
    return _cubic_product_dbm(-39.0) - _cubic_product_dbm(-40.0)
