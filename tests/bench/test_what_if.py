"""A forecast of 100 to 1,000 carriers at one antenna, beside the same sums of products by numpy broadcasting."""

from __future__ import annotations

import os
import time

import numpy as np
from numpy.typing import NDArray

from fleet.planning.what_if.changes import PowerBy
from fleet.planning.what_if.forecast import forecast
from fleet.planning.what_if.known_carriers import Chosen
from fleet.planning.what_if.levels import levels_dbm
from fleet.planning.what_if.margins import margins
from fleet.planning.what_if.site import Antenna, Site, Transmitter

IN_FULL = bool(os.environ.get("REDPOLL_BENCH"))
SIZES = (100, 300, 1_000) if IN_FULL else (100,)
ROUNDS = 3
VICTIMS = 10
RASTER_HZ = 25_000
FIRST_HZ = 470_000_000
POINTS = 8_961
NEAR = 3
"""Products less than 100 kHz off: at most so many steps."""
INTERCEPT_DBM = -7.5


def site_of(carriers: int) -> Site:
    luck = np.random.default_rng(carriers)
    points = np.sort(luck.choice(POINTS, carriers, replace=False))
    packs = tuple(
        Transmitter(
            FIRST_HZ + RASTER_HZ * int(point),
            "House",
            "House",
            10.0,
            position_m=(float(away_m), 3.0),
            body_loss_db=15.0,
        )
        for point, away_m in zip(points, luck.uniform(10.0, 60.0, carriers), strict=True)
    )
    return Site(packs, (Antenna("House left", "House", (0.0, 0.0), intercept_dbm=INTERCEPT_DBM),))


def by_broadcasting(points: NDArray[np.int64], power_mw: NDArray[np.float64], victim: int) -> float:
    """All products near one victim: every pair, with whoever stands where the third maker would have to."""
    standing = np.zeros(4 * POINTS)
    standing[points + POINTS] = power_mw
    pair_mw = power_mw[:, np.newaxis] * power_mw
    weight = np.triu(np.full(pair_mw.shape, 4.0), 1) + np.eye(len(points))
    found_mw = 0.0
    for off in range(-NEAR, NEAR + 1):
        third = points[:, np.newaxis] + points - victim - off
        distinct = (third != points[:, np.newaxis]) & (third != points)
        found_mw += float((weight * pair_mw * standing[third + POINTS] * distinct).sum())
    return found_mw / float(10.0 ** (2.0 * INTERCEPT_DBM / 10.0))


def test_a_forecast_of_many_carriers() -> None:
    print(f"\ncarriers  forecast, before and after ms  by broadcasting ms (of {VICTIMS} victims, scaled to all, twice)")
    for size in SIZES:
        site, took_s = site_of(size), []
        for _ in range(ROUNDS):
            begun_s = time.perf_counter()
            forecast(site, [PowerBy(Chosen(), -10.0)])
            took_s.append(time.perf_counter() - begun_s)
        points = np.array([(each.frequency_hz - FIRST_HZ) // RASTER_HZ for each in site.transmitters])
        power_mw = 10.0 ** (levels_dbm(site)[0] / 10.0)
        begun_s = time.perf_counter()
        expected_mw = [by_broadcasting(points, power_mw, int(point)) for point in points[:VICTIMS]]
        slow_s = 2.0 * (time.perf_counter() - begun_s) * size / VICTIMS
        print(f"{size:>8}  {1e3 * min(took_s):>29.1f}  {1e3 * slow_s:.0f} ({slow_s / min(took_s):.0f} times)")
        for each, carrier_mw, products_mw in zip(margins(site), power_mw, expected_mw, strict=False):
            assert each is not None
            found_db = np.inf if each.over_products_db is None else each.over_products_db
            assert np.isclose(found_db, 10.0 * np.log10(carrier_mw / products_mw), atol=1e-4)
