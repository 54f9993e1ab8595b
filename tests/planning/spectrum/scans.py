"""Scans made by hand for tests."""

from __future__ import annotations

import io
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from fleet.model.survey import Circumstances, Scan
from fleet.planning.spectrum.scan import scan_of_file

START_HZ = 470_000_000
STEP_HZ = 25_000
ABOUT = Circumstances("House left", 1_700_000_000_000_000, "wand", file="evening.csv")


def frequencies(points: int, step_hz: int = STEP_HZ, start_hz: int = START_HZ) -> NDArray[np.int64]:
    return start_hz + step_hz * np.arange(points, dtype=np.int64)


def scan_of(
    sweeps_dbm: NDArray[np.float64],
    frequency_hz: NDArray[np.int64],
    about: Circumstances = ABOUT,
    bandwidth_hz: int = 0,
) -> Scan:
    """The scan of sweeps, shaped [sweep, point], as a file of hertz and dBm would bring it."""
    lines = [
        f"{hz},{level}" for sweep in sweeps_dbm.tolist() for hz, level in zip(frequency_hz.tolist(), sweep, strict=True)
    ]
    text = "Hz,dBm\n" + "\n".join(lines)
    made = scan_of_file("evening", io.BytesIO(text.encode()), about, bandwidth_hz or None)
    assert made is not None
    return made[0]


def still(points: int, floor_dbm: float, carriers: Mapping[int, float]) -> NDArray[np.float64]:
    """One sweep of a floor that doesn't move, with levels at some points."""
    levels = np.full(points, floor_dbm)
    for point, level_dbm in carriers.items():
        levels[point] = level_dbm
    return levels[np.newaxis]
