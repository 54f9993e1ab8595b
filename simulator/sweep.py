"""A scan: the levels of the simulated spectrum at one antenna, a stretch in each block of time. Levels only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import Value
from fleet.physics.decibels import mw_from_dbm
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import Levels
from simulator.front_end import OWN_NOISE_DBM
from simulator.loads import CHANNEL_HZ
from simulator.world import World
from simulator.writes import Refused

POINTS_MAXIMUM = 20_000
POINTS_PER_SECOND = 1_000
# Assumption: what a pack or a stranger spreads over at the least.
_SIGNAL_HZ = 100_000


@dataclass(frozen=True, slots=True)
class Span:
    """What is to be scanned: ``points`` levels from ``start_hz`` up."""

    start_hz: int
    step_hz: int
    points: int
    bandwidth_hz: int

    @property
    def lasts_us(self) -> int:
        """How long it takes."""
        return max(1_000_000, self.points * 1_000_000 // POINTS_PER_SECOND)


def span_of(arguments: Mapping[str, Value]) -> Span | Refused:
    """The span that the arguments of a scan ask for, or why not."""
    start_hz, stop_hz, step_hz = (int(arguments[name]) for name in ("start_hz", "stop_hz", "step_hz"))
    if stop_hz < start_hz:
        return Refused(ErrorCode.OUT_OF_RANGE, "scan: stop_hz lies below start_hz", {"field": "stop_hz"})
    points = (stop_hz - start_hz) // step_hz + 1
    if points > POINTS_MAXIMUM:
        words = f"scan: {points} points; at most {POINTS_MAXIMUM}, so take a greater step_hz"
        return Refused(ErrorCode.OUT_OF_RANGE, words, {"field": "step_hz"})
    return Span(start_hz, step_hz, points, int(arguments.get("bandwidth_hz", step_hz)))


class Sweep:
    """One scan at an antenna, whose number is that of the scenario; ``floor_dbm`` is the site's in 200 kHz."""

    def __init__(self, world: World, span: Span, antenna: int, floor_dbm: float, branch: str = "") -> None:
        self._world = world
        self._span = span
        self._antenna = antenna
        self._floor_mw = float(mw_from_dbm(max(floor_dbm, OWN_NOISE_DBM)))
        self._branch = branch
        self._done = 0

    def levels(self, fraction: float) -> Levels | None:
        """What was found since it was last asked, when so much of the scan is done."""
        span, first = self._span, self._done
        until = min(span.points, int(fraction * span.points))
        if until <= first:
            return None
        frequencies = span.start_hz + np.arange(first, until) * span.step_hz
        found = np.round(10.0 * np.log10(self._powers_mw(frequencies)), 1)
        self._done = until
        return Levels(
            int(frequencies[0]), span.step_hz, span.bandwidth_hz, found.tolist(), self._branch, calibrated=True
        )

    def _powers_mw(self, frequencies_hz: NDArray[np.int64]) -> NDArray[np.float64]:
        """All that comes through the antenna's feed, and the scanner's own noise."""
        world, antenna = self._world, self._antenna
        gain = float(10.0 ** (world.feeds.changes_db()[antenna] / 10.0))
        own_mw = float(mw_from_dbm(OWN_NOISE_DBM))
        floor_mw = own_mw + gain * max(self._floor_mw - own_mw, 0.0)
        powers_mw = np.full(len(frequencies_hz), floor_mw * self._span.bandwidth_hz / CHANNEL_HZ)
        packs_mw = world.loads.levels_mw(antenna, world.emission)
        for level_mw, frequency_hz in zip(packs_mw, world.emission.sent.frequency_hz, strict=True):
            powers_mw += self._share(frequencies_hz, frequency_hz, _SIGNAL_HZ) * gain * level_mw
        for stranger in world.loads.on_air(world.now_s):
            share = self._share(frequencies_hz, stranger.frequency_hz, max(stranger.bandwidth_hz, _SIGNAL_HZ))
            powers_mw += share * gain * world.loads.stranger_mw(antenna, stranger)
        made = world.loads.products(antenna, world.emission, world.now_s)
        for level_dbm, frequency_hz in zip(made.level_dbm, made.frequency_hz, strict=True):
            level_mw = gain**3 * mw_from_dbm(level_dbm)
            powers_mw += self._share(frequencies_hz, frequency_hz, _SIGNAL_HZ) * level_mw
        return powers_mw

    def _share(self, frequencies_hz: NDArray[np.int64], middle_hz: int, width_hz: int) -> NDArray[np.float64]:
        """What share of a signal of that width each point shows, by how much of its own bandwidth lies under it."""
        half_hz = self._span.bandwidth_hz / 2
        low = np.maximum(frequencies_hz - half_hz, middle_hz - width_hz / 2)
        high = np.minimum(frequencies_hz + half_hz, middle_hz + width_hz / 2)
        return np.asarray(np.maximum(high - low, 0.0) / width_hz)
