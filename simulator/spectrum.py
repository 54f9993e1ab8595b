"""The radio field: which pack a tuned carrier hears, how strongly, and how that flutters.

Left for a deeper world: selectivity, products of intermodulation, the body's shadow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import mw_from_dbm
from fleet.physics.fading import doppler_hz, doppler_shares, first_phasors, rotations, turn_phasors
from fleet.physics.links import frame_loss_fraction
from simulator.front_end import FrontEnds, plain_fronts
from simulator.luck import Luck, NormalDraws
from simulator.venue import Sites

SAMPLES_PER_BLOCK = 10
SCATTERERS = 16
# Assumption: a receiver holds on to a pack that is less than this beside its own frequency.
CAPTURE_HALF_WIDTH_HZ = 50_000
# A level meter that averages 200 independent samples of noise spreads by one over root 200.
NOISE_SPREAD = 0.07
FLOOR_SPREAD_DB = 0.3
# Assumption: an analog receiver opens above this level.
SQUELCH_DBM = -90.0
NOBODY = -1
_LEAST_NOISE = 0.5
_SILENT_MW = 1e-30


@dataclass(frozen=True, slots=True)
class Emission:
    """What all packs send, one a row: place [rows, 3], speed, power and frequency [rows]; ``on`` is false for none."""

    position_m: NDArray[np.float64]
    speed_m_s: NDArray[np.float64]
    eirp_dbm: NDArray[np.float64]
    frequency_hz: NDArray[np.int64]
    on: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class RadioBlock:
    """What all carriers saw in one block.

    Powers are [rows, branches] in milliwatts, and so is ``floor_dbm`` in its unit; ``heard`` [rows] is the row of the
    pack, or -1. ``carrier_to_noise_db`` is that of the better branch at each sample, [samples, rows]; ``loss`` [rows]
    the share of digital frames lost; ``squelched`` [rows] the share of the block in which neither branch reached the
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


class _Contest:
    """Carriers that several packs could be heard on: all pairs of such a carrier and a pack, grouped by carrier."""

    def __init__(self, near: NDArray[np.bool_]) -> None:
        self.pair_rows, self.pair_packs = np.nonzero(near)
        self.rows, self._starts, self._counts = np.unique(self.pair_rows, return_index=True, return_counts=True)

    def winners(self, each_mw: NDArray[np.float64]) -> NDArray[np.intp]:
        """For each carrier the number of the pair whose pack is strongest at either branch, [len(rows)]."""
        best_mw = each_mw.max(axis=1)
        most_mw = np.repeat(np.maximum.reduceat(best_mw, self._starts), self._counts)
        numbers = np.arange(len(best_mw))
        first: NDArray[np.intp] = np.minimum.reduceat(np.where(best_mw == most_mw, numbers, len(numbers)), self._starts)
        return first

    def totals(self, each_mw: NDArray[np.float64]) -> NDArray[np.float64]:
        """The power of all packs together at each carrier's branches, [len(rows), branches]."""
        return np.add.reduceat(each_mw, self._starts, axis=0)


class Spectrum:
    """The radio field at all carriers, advanced a block at a time."""

    def __init__(self, sites: Sites, names: Sequence[str], luck: Luck, block_s: float) -> None:
        rows, branches = sites.antenna_gain_db.shape
        phases, turns = np.zeros((rows, branches, SCATTERERS + 1)), np.zeros((rows, branches))
        for row, (name, own) in enumerate(zip(names, sites.branch_counts, strict=True)):
            start = luck.generator(f"fading of {name}")
            phases[row, :own] = start.uniform(0.0, 2.0 * np.pi, (own, SCATTERERS + 1))
            turns[row, :own] = start.uniform(0.0, 1.0, own)
        self._sites = sites
        self._sample_s = block_s / SAMPLES_PER_BLOCK
        self._shares = doppler_shares(turns, SCATTERERS)
        self._phasors = first_phasors(phases, np.repeat(sites.rician_k[:, np.newaxis], branches, axis=1))
        noises = [luck.generator(f"noise of {name}") for name in names]
        self._noise = NormalDraws(noises, ((SAMPLES_PER_BLOCK + 1) * branches,))
        self._fronts = plain_fronts(sites)
        self._floor_dbm = 10.0 * np.log10(self._fronts.floor_mw)
        self._rows = np.arange(rows)
        self._squelch_mw = np.full(rows, mw_from_dbm(SQUELCH_DBM))
        self._margin_db = np.zeros(rows)
        self._heard_alone = np.full(rows, NOBODY)
        self._contest = _Contest(np.zeros((rows, rows), dtype=np.bool_))

    def face(self, fronts: FrontEnds) -> None:
        """Take what lies between the antennas and the receivers, and what the front ends make of it, from now on."""
        self._fronts = fronts
        self._floor_dbm = 10.0 * np.log10(fronts.floor_mw)

    def listen(self, squelch_mw: NDArray[np.float64], margin_db: NDArray[np.float64]) -> None:
        """Take the squelch of analog receivers and what modes of digital ones bear more than the usual, [rows]."""
        self._squelch_mw, self._margin_db = squelch_mw, margin_db

    def tune(
        self, carriers_hz: NDArray[np.int64], emission: Emission, fitting: NDArray[np.bool_] | None = None
    ) -> None:
        """Find anew which packs each carrier can hear; due whenever a frequency, a power or a sleep changed.

        ``fitting`` [rows, packs] says which packs speak a carrier's language; without it, all do.
        """
        near = np.abs(carriers_hz[:, np.newaxis] - emission.frequency_hz[np.newaxis, :]) < CAPTURE_HALF_WIDTH_HZ
        near &= emission.on[np.newaxis, :]
        if fitting is not None:
            near &= fitting
        several = near.sum(axis=1) > 1
        self._heard_alone = np.where(near.any(axis=1) & ~several, near.argmax(axis=1), NOBODY)
        self._contest = _Contest(near & several[:, np.newaxis])

    def advance(self, emission: Emission) -> RadioBlock:
        """The next block of the field."""
        fronts = self._fronts
        wanted_mw, other_mw, heard = self._strengths(emission)
        other_mw = other_mw * fronts.gain + fronts.stranger_mw
        fade = self._fade(emission, heard)
        draws = self._noise.take()
        rows, branches = wanted_mw.shape
        spread = draws[:, :-branches].reshape(rows, SAMPLES_PER_BLOCK, branches).transpose(1, 0, 2)
        noise_mw = fronts.floor_mw * np.maximum(1.0 + NOISE_SPREAD * spread, _LEAST_NOISE)
        signal_mw = wanted_mw * fronts.gain * fade
        total_mw = (signal_mw + noise_mw + other_mw) * fronts.compression
        ratio = (signal_mw + _SILENT_MW) / (fronts.floor_mw + other_mw)
        ratio_db = 10.0 * np.log10(ratio.max(axis=2))
        return RadioBlock(
            mean_mw=total_mw.mean(axis=0),
            least_mw=total_mw.min(axis=0),
            most_mw=total_mw.max(axis=0),
            floor_dbm=self._floor_dbm + FLOOR_SPREAD_DB * draws[:, -branches:],
            heard=heard,
            carrier_to_noise_db=ratio_db,
            loss=frame_loss_fraction(ratio_db + self._margin_db).mean(axis=0),
            squelched=np.mean(total_mw.max(axis=2) < self._squelch_mw, axis=0),
            overload=fronts.overload,
            foreign=fronts.foreign,
        )

    def _strengths(self, emission: Emission) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.intp]]:
        """Mean power of the heard pack and of all others at each branch, and which pack is heard."""
        heard = self._heard_alone.copy()
        other_mw = np.zeros(self._sites.antenna_gain_db.shape)
        contest = self._contest
        if contest.rows.size:
            each_mw = self._received_mw(contest.pair_rows, contest.pair_packs, emission)
            winners = contest.winners(each_mw)
            heard[contest.rows] = contest.pair_packs[winners]
            other_mw[contest.rows] = contest.totals(each_mw) - each_mw[winners]
        wanted_mw = self._received_mw(self._rows, np.maximum(heard, 0), emission)
        return np.where(heard[:, np.newaxis] == NOBODY, 0.0, wanted_mw), other_mw, heard

    def _received_mw(self, rows: NDArray[np.intp], packs: NDArray[np.intp], emission: Emission) -> NDArray[np.float64]:
        gain = self._sites.path_gain_db(rows, emission.position_m[packs], emission.frequency_hz[packs].astype(float))
        return mw_from_dbm(emission.eirp_dbm[packs][:, np.newaxis] + gain)

    def _fade(self, emission: Emission, heard: NDArray[np.intp]) -> NDArray[np.float64]:
        """Power of the fading, mean 1, [samples, rows, branches]: it moves with whoever is heard."""
        mover = np.maximum(heard, 0)
        shift = doppler_hz(emission.speed_m_s[mover], emission.frequency_hz[mover].astype(float))
        step = rotations(shift[:, np.newaxis], self._shares, self._sample_s)
        power, self._phasors = turn_phasors(self._phasors, step, SAMPLES_PER_BLOCK)
        return power
