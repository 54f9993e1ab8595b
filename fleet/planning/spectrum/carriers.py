"""Carriers in a scan: what stands out of the floor, where it peaks, how wide it is."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.survey import Scan
from fleet.model.survey_found import FoundCarrier
from fleet.planning.spectrum.floor import ABOVE_FLOOR_DB, Floor
from fleet.planning.spectrum.noise import highest_db
from fleet.planning.spectrum.scan import array_of, frequencies_of
from fleet.planning.spectrum.stretches import runs

CARRIER_HZ_MAXIMUM = 1_000_000
"""Assumption: no single microphone takes more; what does is a wide link, or a broadcast."""
GAP_HZ = 100_000
"""Assumption: what has so little between it is one signal."""
VALLEY_DB = 10.0
"""Assumption: two peaks with so deep a valley between them are two carriers."""
_CHANCE = 0.01
"""How often a scan of nothing but noise may show a carrier."""

Real = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Trace:
    """A scan as arrays: frequencies, the greatest level of each (NaN for none), and the floor beneath."""

    scan: Scan
    frequency_hz: NDArray[np.int64]
    maximum_dbm: Real
    floor_dbm: Real
    threshold_db: float

    @property
    def half_hz(self) -> int:
        """How far a point reaches to either side."""
        return max(self.scan.step_hz, self.scan.bandwidth_hz or 0) // 2


def trace_of(scan: Scan, floor: Floor, looks: float) -> Trace:
    """The scan over its floor, with the threshold for carriers of scans whose noise moves as ``looks`` say."""
    frequency_hz = frequencies_of(scan)
    threshold_db = threshold_of(len(frequency_hz) * scan.sweeps, looks)
    return Trace(scan, frequency_hz, array_of(scan.maximum_dbm), floor.at(frequency_hz), threshold_db)


def threshold_of(levels: int, looks: float) -> float:
    """How far above the floor a carrier must stand, in dB.

    It is 10, or more where the highest of so many levels of mere noise would pass that in one of a hundred scans.
    """
    return max(ABOVE_FLOOR_DB, highest_db(levels, looks, _CHANCE))


def carriers_of(trace: Trace) -> list[FoundCarrier]:
    """What stands out, by rising frequency."""
    above = trace.maximum_dbm - trace.floor_dbm
    standing = np.nan_to_num(above, nan=-np.inf) > trace.threshold_db
    gap = min(GAP_HZ // trace.scan.step_hz, 4)
    found = [part for run in runs(standing, gap) for part in _split(trace, run)]
    return [_carrier(trace, part) for part in found]


def _split(trace: Trace, run: slice) -> list[slice]:
    """A run at its deep valleys, unless it is as wide as what fades across its own width."""
    if (run.stop - run.start) * trace.scan.step_hz > 2 * CARRIER_HZ_MAXIMUM or run.stop - run.start < 3:
        return [run]
    levels = _smooth(np.nan_to_num(trace.maximum_dbm[run], nan=-200.0))
    cuts = [run.start, *(run.start + cut for cut in _valleys(levels)), run.stop]
    return [slice(low, high) for low, high in itertools.pairwise(cuts)]


def _smooth(levels_dbm: Real) -> Real:
    """The mean power of each point and its neighbours, so that one deep point parts nothing."""
    power = 10.0 ** (np.pad(levels_dbm, 1, mode="edge") / 10.0)
    return np.asarray(10.0 * np.log10((power[:-2] + power[1:-1] + power[2:]) / 3.0))


def _valleys(levels: Real) -> list[int]:
    """Where to cut so that every two neighbours have VALLEY_DB between the lower of their peaks and the valley."""
    cuts: list[int] = []
    peak, valley, at = levels[0], levels[0], 0
    for index, level in enumerate(levels.tolist()):
        if level < valley:
            valley, at = level, index
        if min(peak, level) - valley >= VALLEY_DB:
            cuts.append(at)
            peak, valley = level, level
        elif level > peak:
            peak, valley, at = level, level, index
    return cuts


def _carrier(trace: Trace, part: slice) -> FoundCarrier:
    scan, frequencies, levels = trace.scan, trace.frequency_hz[part], trace.maximum_dbm[part]
    peak = int(np.nanargmax(levels))
    power = np.nan_to_num(10.0 ** ((levels - levels[peak]) / 10.0))
    occupancy = array_of(scan.occupancy[part])
    start_hz, stop_hz = int(frequencies[0]) - scan.step_hz // 2, int(frequencies[-1]) + scan.step_hz // 2
    return FoundCarrier(
        peak_hz=int(frequencies[peak]),
        peak_dbm=float(levels[peak]),
        above_floor_db=round(float(levels[peak] - trace.floor_dbm[part][peak]), 1),
        centre_hz=round(float(np.average(frequencies, weights=power))),
        start_hz=start_hz,
        stop_hz=stop_hz,
        occupancy=float(np.nanmax(occupancy)),
        wide=stop_hz - start_hz > CARRIER_HZ_MAXIMUM,
    )
