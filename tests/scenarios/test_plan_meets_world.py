"""A plan in the simulated world: it keeps every link where random frequencies don't, and products hurt as predicted.

The world knows nothing of planning. What a product must come to is said by a third thing: ITU-R P.525 by hand, and the
spectrum of a sampled cubic non-linearity by numpy.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fleet.model.forecast import CarrierMargins
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.search import search
from fleet.planning.what_if.margins import margins
from fleet.planning.what_if.site import Antenna, Site, Transmitter
from simulator.meters import Meters
from simulator.world import World, set_pack
from tests.promises.promise import TIER, Tier
from tests.scenarios.plan_in_world import Worn, around, audio_intact, frames, link_quality, world_of

SEEDS = range(11, 11 + {Tier.TEST: 3, Tier.SOAK: 60, Tier.LONG: 300}[TIER])
SECONDS = 5.0
# Eight crowd in the wings, 5 m from the antenna, at 10 mW; five are out on stage, 40 m away, at 1 mW.
WINGS, STAGE = 8, 5
WINDOW_HZ = (470_000_000, 488_000_000)
RASTER_HZ = 25_000
SPACING_HZ = 400_000
REQUEST = f"""
raster_hz = {RASTER_HZ}
[[window]]
start_hz = {WINDOW_HZ[0]}
stop_hz = {WINDOW_HZ[1]}
[[profile]]
name = "analog"
spacing_hz = {SPACING_HZ}
third_two_signal_hz = 100_000
third_three_signal_hz = 100_000
[[group]]
name = "House"
zone = "House"
profile = "analog"
count = {WINGS + STAGE}
"""
INTERCEPT_DBM = -7.5
# What the world's document says of it: half of the frames of a digital link are lost at this ratio.
CLIFF_DB = 12.0
NOISE_DBM = -105.0


def _planned_hz(seed: int) -> list[int]:
    """A plan, dealt to the packs as luck will have it."""
    request: Request = read_request(REQUEST, "stage.toml")
    found = search(request, seed, lambda best: best.complete)
    dealt = np.random.default_rng(seed).permutation([carrier.point * RASTER_HZ for carrier in found.carriers])
    return [int(hz) for hz in dealt]


def _random_hz(seed: int) -> list[int]:
    """As many at random in the same window, on the same raster and as far apart, so that only products are left."""
    luck = np.random.default_rng(seed)
    points = (WINDOW_HZ[1] - WINDOW_HZ[0]) // RASTER_HZ + 1
    while True:
        drawn = luck.choice(points, WINGS + STAGE, replace=False)
        if np.diff(np.sort(drawn)).min() * RASTER_HZ >= SPACING_HZ:
            return [int(WINDOW_HZ[0] + RASTER_HZ * point) for point in drawn]


def _stage(frequencies_hz: list[int]) -> list[Worn]:
    places = [(5.0, place) for place in around(WINGS, 5.0)] + [(40.0, place) for place in around(STAGE, 40.0)]
    return [
        Worn(f"p{number:02}", hz, place, 10.0 if away_m < 10.0 else 1.0)
        for number, (hz, (away_m, place)) in enumerate(zip(frequencies_hz, places, strict=True))
    ]


@cache
def _random_frames(seed: int) -> list[Meters]:
    return frames(world_of(_stage(_random_hz(seed)), seed), SECONDS)


@pytest.mark.parametrize("seed", SEEDS)
def test_planned_carriers_keep_every_link(seed: int) -> None:
    found = frames(world_of(_stage(_planned_hz(seed)), seed), SECONDS)
    assert link_quality(found).min() >= 0.99
    assert audio_intact(found).min() >= 0.99


def test_random_frequencies_lose_links() -> None:
    """Not by every draw, but by most; the plan's packs, places and luck are the same."""
    lost = [int((audio_intact(_random_frames(seed))[WINGS:] < 0.5).sum()) for seed in SEEDS]
    print(f"\nseeds {SEEDS[0]} to {SEEDS[-1]}: links lost of {STAGE} on stage {lost}; planned none")
    assert np.mean(np.array(lost) > 0) >= 0.9
    assert np.mean(lost) >= 0.4 * STAGE


def test_who_loses_is_who_was_forecast_to() -> None:
    """Of the links at random frequencies: forecast 6 dB over the cliff they are kept, 6 dB under it lost."""
    kept, lost = [], []
    for seed in SEEDS:
        forecasts, quality = _forecasts(_stage(_random_hz(seed))), link_quality(_random_frames(seed))
        for each, found in zip(forecasts, quality, strict=True):
            if each.over_all_db > CLIFF_DB + 6.0:
                kept.append(found)
            elif each.over_all_db < CLIFF_DB - 6.0:
                lost.append(found)
    print(f"\nforecast kept: {len(kept)} links, worst quality {min(kept):.2f}; lost: {len(lost)}, best {max(lost):.2f}")
    assert min(kept) > 0.9
    assert max(lost) < 0.2


@pytest.mark.parametrize("seed", SEEDS)
def test_analog_links_are_quiet_with_a_plan_and_hiss_without(seed: int) -> None:
    """Nobody speaks: what a channel shows is its noise. The worst on stage is 20 dB louder at random frequencies."""
    noise_dbfs = []
    for frequencies_hz in (_planned_hz(seed), _random_hz(seed)):
        found = frames(world_of(_stage(frequencies_hz), seed, analog=True), SECONDS)
        noise_dbfs.append(float(np.mean([each.rms_dbfs for each in found], axis=0)[WINGS:].max()))
    print(f"\nseed {seed}: the noisiest on stage {noise_dbfs[0]:.1f} dBFS planned, {noise_dbfs[1]:.1f} at random")
    assert noise_dbfs[0] + 20.0 < noise_dbfs[1]


ONE, TWO, THREE = MAKERS = (
    Worn("one", 600_000_000, (5.0, 0.0), 10.0),
    Worn("two", 602_500_000, (0.0, 10.0), 10.0),
    Worn("three", 606_000_000, (-5.0, 0.0), 10.0),
)
# Free space by hand: 48.011 dB at 600 MHz over 10 m; 10 mW e.r.p. are 12.15 dBm e.i.r.p.
LEVELS_DBM = tuple(
    12.15 - 48.011 - 20.0 * np.log10(away_m / 10.0) - 20.0 * np.log10(each.frequency_hz / 600e6)
    for each, away_m in zip(MAKERS, (5.0, 10.0, 5.0), strict=True)
)
BIN_HZ = 100_000
BINS = (400, 425, 460)  # As the makers stand; no two of their products fall on one bin, and none near a maker.
PRODUCTS_HZ = {"2A-B": 597_500_000, "A+C-B": 603_500_000, "A+B-C": 596_500_000, "2C-A": 612_000_000}


def _spectrum_dbm(frequency_hz: int) -> float:
    """What a cubic non-linearity makes at a frequency of carriers at these levels; 3/4 c a^2 is 1 at the intercept."""
    moments = 2.0 * np.pi * np.arange(4_096) / 4_096
    amplitudes = [10.0 ** (level_dbm / 20.0) for level_dbm in LEVELS_DBM]
    entering = sum(size * np.cos(bin_ * moments) for size, bin_ in zip(amplitudes, BINS, strict=True))
    bent = entering - 4.0 / 3.0 / 10.0 ** (INTERCEPT_DBM / 10.0) * entering**3
    bin_ = BINS[0] + (frequency_hz - 600_000_000) // BIN_HZ
    return float(20.0 * np.log10(np.abs(np.fft.rfft(bent)[bin_]) * 2.0 / 4_096))


def _with_victim(frequency_hz: int, erp_mw: float) -> list[Worn]:
    return [ONE, TWO, THREE, Worn("victim", frequency_hz, (30.0, 0.0), erp_mw)]


def _forecasts(packs: list[Worn]) -> list[CarrierMargins]:
    """What planning says of each, given powers and places alone."""
    transmitters = tuple(
        Transmitter(each.frequency_hz, each.pack, "House", 10.0 * np.log10(each.erp_mw), position_m=each.place_m)
        for each in packs
    )
    antenna = Antenna("House left", "House", (0.0, 0.0), intercept_dbm=INTERCEPT_DBM, noise_dbm=NOISE_DBM)
    found = [each for each in margins(Site(transmitters, (antenna,))) if each is not None]
    assert len(found) == len(packs)
    return found


def _slept(world: World) -> World:
    set_pack(world, 3, {"standby": True})
    return world


@pytest.mark.parametrize(("family", "frequency_hz"), PRODUCTS_HZ.items())
def test_a_product_is_as_strong_in_the_world_as_predicted(family: str, frequency_hz: int) -> None:
    """Prediction and world are both held to the sampled cubic: within 0.02 dB and within 3 dB."""
    oracle_dbm = _spectrum_dbm(frequency_hz)
    packs = _with_victim(frequency_hz, 1.0)
    predicted = _forecasts(packs)[-1]
    assert predicted.over_products_db is not None
    predicted_dbm = predicted.level_dbm - predicted.over_products_db
    assert predicted_dbm == pytest.approx(oracle_dbm, abs=0.02)
    for seed in SEEDS:
        found = frames(_slept(world_of(packs, seed)), 3.0)
        measured_dbm = float(np.mean([each.rf_dbm[3][0] for each in found]))
        print(
            f"\n{family}, seed {seed}: oracle {oracle_dbm:.1f}, predicted {predicted_dbm:.1f}, world {measured_dbm:.1f}"
        )
        assert measured_dbm == pytest.approx(oracle_dbm, abs=3.0)


@pytest.mark.parametrize(("ratio_db", "suffers"), [(CLIFF_DB - 3.0, True), (CLIFF_DB + 3.0, False)])
@pytest.mark.parametrize("frequency_hz", [PRODUCTS_HZ["2A-B"], PRODUCTS_HZ["A+C-B"]])
def test_a_carrier_on_a_product_suffers_as_predicted(frequency_hz: int, ratio_db: float, *, suffers: bool) -> None:
    """3 dB below the ratio at which the world's links break, by the cubic and P.525, one is lost; 3 dB above, kept."""
    level_dbm = _spectrum_dbm(frequency_hz) + ratio_db
    loss_db = 57.553 + 20.0 * np.log10(frequency_hz / 600e6)  # P.525 over 30 m.
    erp_mw = 10.0 ** ((level_dbm + loss_db - 2.15) / 10.0)
    packs = _with_victim(frequency_hz, erp_mw)
    assert _forecasts(packs)[-1].over_products_db == pytest.approx(ratio_db, abs=0.02)
    for seed in SEEDS:
        quality = float(link_quality(frames(world_of(packs, seed, k_db=30.0), 3.0))[3])
        print(f"\nseed {seed}: {ratio_db:.0f} dB over the product, quality {quality:.2f}")
        assert quality < 0.2 if suffers else quality > 0.8


def test_a_carrier_beside_the_product_does_not_suffer() -> None:
    """The same power 400 kHz further: nothing falls there, and nothing is lost."""
    packs = _with_victim(PRODUCTS_HZ["2A-B"], 0.1)
    beside = [*packs[:3], replace(packs[3], frequency_hz=PRODUCTS_HZ["2A-B"] - 400_000)]
    assert _forecasts(beside)[-1].over_products_db is None
    for seed in SEEDS:
        assert link_quality(frames(world_of(beside, seed, k_db=30.0), 3.0))[3] > 0.99
