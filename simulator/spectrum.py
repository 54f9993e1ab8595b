"""The radio field: which pack a tuned carrier hears, how strongly, and how that flutters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import mw_from_dbm
from fleet.physics.diversity import combined, selected
from fleet.physics.links import frame_loss_fraction
from simulator.fades import Fades
from simulator.front_end import FrontEnds, plain_fronts
from simulator.luck import Luck, NormalDraws
from simulator.paths import Emission, Paths
from simulator.squelch import Squelch
from simulator.venue import Sites
from simulator.ways import Beats, ways_of, winners

SAMPLES_PER_BLOCK = 10
# A level meter that averages 200 independent samples of noise spreads by one over root 200.
NOISE_SPREAD = 0.07
FLOOR_SPREAD_DB = 0.3
# Assumption: an analog receiver opens above this level.
SQUELCH_DBM = -90.0
NOBODY = -1
_LEAST_NOISE = 0.5
_SILENT_MW = 1e-30
_BLOCKS_PER_SECOND = 10


@dataclass(frozen=True, slots=True)
class RadioBlock:
    """What all carriers saw in one block.

    Powers are [rows, branches] in milliwatts, and so is ``floor_dbm`` in its unit; ``heard`` [rows] is the row of the
    pack, or -1. ``carrier_to_noise_db`` is that behind the diversity at each sample, [samples, rows]; ``loss`` [rows]
    the share of digital frames lost; ``squelched`` [rows] the share of the block in which no branch reached the
    squelch of an analog receiver. ``overload`` [rows, branches] says that the front end is overloaded, ``foreign``
    [rows] that something stands on the carrier's frequency that is no pack.
    """

    mean_mw: NDArray[np.float64]
    least_mw: NDArray[np.float64]
    most_mw: NDArray[np.float64]
    floor_dbm: NDArray[np.float64]
    heard: NDArray[np.intp]
    carrier_to_noise_db: NDArray[np.float64]
    loss: NDArray[np.float64]
    squelched: NDArray[np.float64]
    overload: NDArray[np.bool_]
    foreign: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Tapped:
    """The field of one block before any meter: for whoever measures the world itself.

    ``wanted_mw`` [rows, branches, samples] is the power of the heard pack at each antenna, without noise or anything
    else; ``carrier_to_noise_db`` [rows, samples] what the diversity makes of it.
    """

    block: int
    wanted_mw: NDArray[np.float64]
    carrier_to_noise_db: NDArray[np.float64]


Tap = Callable[[Tapped], None]


@dataclass(frozen=True, slots=True)
class Probe:
    """How closely the field is looked at: samples in a block, and who is told of them."""

    samples: int = SAMPLES_PER_BLOCK
    tap: Tap | None = None


@dataclass(frozen=True, slots=True)
class _Field:
    """One block at all antenna inputs, [rows, branches, samples]: the heard pack, all others, all of them together."""

    wanted_mw: NDArray[np.float64]
    others_mw: NDArray[np.float64]
    sum_mw: NDArray[np.float64]
    heard: NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Names:
    """What the luck of carriers [rows] and of packs hangs on."""

    carriers: Sequence[str]
    packs: Sequence[str]


class Spectrum:
    """The radio field at all carriers, advanced a block at a time."""

    def __init__(self, sites: Sites, paths: Paths, names: Names, luck: Luck, probe: Probe) -> None:
        rows, branches = sites.antenna.shape
        self._sites, self._paths, self._probe = sites, paths, probe
        self._fades = Fades(paths, names.packs, luck)
        self._beats = Beats(names.packs, luck)
        noises = [luck.generator(f"noise of {name}") for name in names.carriers]
        self._noise = NormalDraws(noises, ((probe.samples + 1) * branches,))
        self._fronts = plain_fronts(sites)
        self._floor_dbm = 10.0 * np.log10(self._fronts.floor_mw)
        self._squelch = Squelch(np.full(rows, mw_from_dbm(SQUELCH_DBM)))
        self._margin_db = np.zeros(rows)
        self._heard = np.zeros((rows, len(names.packs)), dtype=np.bool_)
        self._ways = ways_of(self._heard)
        self._slow_db = self._slower_db = np.empty((0, branches))
        self._block = 0
        self._since_block = 0

    def face(self, fronts: FrontEnds) -> None:
        """Take what lies between the antennas and the receivers, and what the front ends make of it, from now on."""
        self._fronts = fronts
        self._floor_dbm = 10.0 * np.log10(fronts.floor_mw)

    def listen(self, squelch_mw: NDArray[np.float64], margin_db: NDArray[np.float64]) -> None:
        """Take the squelch of analog receivers and what modes of digital ones bear more than the usual, [rows]."""
        self._squelch.opens_mw, self._margin_db = squelch_mw, margin_db

    def tune(self, heard: NDArray[np.bool_], emission: Emission) -> None:
        """Take anew which packs each carrier hears, [rows, packs]; due whenever a frequency, power or sleep changed."""
        self._heard = heard
        self._ways = ways_of(heard)
        rows = self._ways.rows
        self._fades.link(self._ways.packs, self._sites.antenna[rows], self._sites.rician_k[rows], emission)
        self._slow_db = self._slower_db = self._slow(emission)
        self._since_block = self._block

    def walk_on(self, heard: NDArray[np.bool_], emission: Emission) -> None:
        """Look anew at what stands between packs and antennas; the levels get there within a second."""
        if not np.array_equal(heard, self._heard):
            self.tune(heard, emission)
            return
        self._slow_db, self._slower_db = self._slower_db, self._slow(emission)
        self._since_block = self._block

    def _slow(self, emission: Emission) -> NDArray[np.float64]:
        """What bodies, walls and shadows take, [ways, branches]."""
        antenna = self._sites.antenna[self._ways.rows]
        packs = np.broadcast_to(self._ways.packs[:, np.newaxis], antenna.shape)
        obstacles = self._paths.obstacles_db(antenna, emission.position_m[packs])
        return obstacles + self._paths.body_db(antenna, packs, emission)

    def advance(self, emission: Emission) -> RadioBlock:
        """The next block of the field."""
        fronts, samples = self._fronts, self._probe.samples
        field = self._field(emission)
        draws = self._noise.take()
        rows, branches = fronts.gain.shape
        spread = draws[:, :-branches].reshape(rows, samples, branches).swapaxes(1, 2)
        floor_mw = fronts.floor_mw[..., np.newaxis]
        gain, other_mw = fronts.gain[..., np.newaxis], fronts.other_mw[..., np.newaxis]
        noise_mw = floor_mw * np.maximum(1.0 + NOISE_SPREAD * spread, _LEAST_NOISE)
        total_mw = (field.sum_mw * gain + noise_mw + other_mw) * fronts.compression[..., np.newaxis]
        ratio_db = self._combined_db(field.wanted_mw * gain, floor_mw + other_mw + field.others_mw * gain)
        if self._probe.tap is not None:
            self._probe.tap(Tapped(self._block, field.wanted_mw, ratio_db))
        self._block += 1
        return RadioBlock(
            mean_mw=total_mw.mean(axis=2),
            least_mw=total_mw.min(axis=2),
            most_mw=total_mw.max(axis=2),
            floor_dbm=self._floor_dbm + FLOOR_SPREAD_DB * draws[:, -branches:],
            heard=field.heard,
            carrier_to_noise_db=ratio_db.T,
            loss=frame_loss_fraction(ratio_db + self._margin_db[:, np.newaxis]).mean(axis=1),
            squelched=1.0 - self._squelch.advance(total_mw.max(axis=1)).mean(axis=1),
            overload=fronts.overload,
            foreign=fronts.foreign,
        )

    def _combined_db(self, wanted_mw: NDArray[np.float64], against_mw: NDArray[np.float64]) -> NDArray[np.float64]:
        """Carrier to noise behind the diversity, [rows, samples]: the better branch, or all added by their ratios."""
        ratio = (wanted_mw + _SILENT_MW) / against_mw
        branches_last = ratio.swapaxes(1, 2)
        best = selected(branches_last)
        adds = self._sites.adds_branches
        if adds.any():
            best[adds] = combined(branches_last[adds])
        return np.asarray(10.0 * np.log10(best))

    def _field(self, emission: Emission) -> _Field:
        """What all ways bring in this block; where several packs are on one carrier, their fields add."""
        ways, samples = self._ways, self._probe.samples
        fields = self._fades.advance(emission, samples)
        mean_mw = self._mean_mw(emission)[..., np.newaxis]
        power_mw = mean_mw * (fields.real**2 + fields.imag**2)
        wanted_mw = np.zeros((*self._sites.antenna.shape, samples))
        wanted_mw[ways.rows[ways.lone]] = power_mw[ways.lone]
        heard = np.full(len(wanted_mw), NOBODY)
        heard[ways.rows[ways.lone]] = ways.packs[ways.lone]
        if not ways.crowd.size:
            return _Field(wanted_mw, np.zeros_like(wanted_mw), wanted_mw, heard)
        sum_mw, others_mw = wanted_mw.copy(), np.zeros_like(wanted_mw)
        crowd_mw = power_mw[ways.crowd]
        first = winners(ways, crowd_mw.mean(axis=2).max(axis=1))
        moments = np.asarray(self._block * samples + np.arange(samples), dtype=np.intp)
        beats = self._beats.at(ways.packs[ways.crowd], moments)[:, np.newaxis]
        amplitudes = np.add.reduceat(np.sqrt(mean_mw[ways.crowd]) * fields[ways.crowd] * beats, ways.starts)
        sum_mw[ways.crowded] = amplitudes.real**2 + amplitudes.imag**2
        wanted_mw[ways.crowded] = power_mw[first]
        others_mw[ways.crowded] = np.add.reduceat(crowd_mw, ways.starts) - power_mw[first]
        heard[ways.crowded] = ways.packs[first]
        return _Field(wanted_mw, others_mw, sum_mw, heard)

    def _mean_mw(self, emission: Emission) -> NDArray[np.float64]:
        """What each way brings on average, [ways, branches]."""
        packs, antenna = self._ways.packs, self._sites.antenna[self._ways.rows]
        place_m, frequency_hz = (
            emission.position_m[packs][:, np.newaxis],
            emission.sent.frequency_hz[packs].astype(float),
        )
        open_db = self._paths.open_gain_db(antenna, place_m, frequency_hz[:, np.newaxis])
        share = min((self._block - self._since_block) / _BLOCKS_PER_SECOND, 1.0)
        slow_db = self._slow_db + share * (self._slower_db - self._slow_db)
        return mw_from_dbm(emission.sent.eirp_dbm[packs][:, np.newaxis] + open_db - slow_db)
