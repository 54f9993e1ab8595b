"""Meters: what a receiver makes of the blocks since its last frame; minima keep the least, peaks the most."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fleet.physics.levels import dbu_from_dbfs
from simulator.sound import SoundBlock
from simulator.spectrum import NOBODY, RadioBlock

QUALITY_BLOCKS = 10


@dataclass(frozen=True, slots=True)
class Block:
    """Everything measured in one tenth of a second."""

    number: int
    radio: RadioBlock
    sound: SoundBlock


@dataclass(frozen=True, slots=True)
class Meters:
    """Plain numbers, rounded as a device would send them: a list a row, of a number for each branch where it says so.

    ``heard`` is the place of the pack whose signal is there, or -1. A deviation is None where nothing is heard.
    ``input_overload`` belongs to the packs.
    """

    rf_dbm: list[list[float]]
    rf_min_dbm: list[list[float]]
    rf_max_dbm: list[list[float]]
    floor_dbm: list[list[float]]
    link_quality: list[float]
    heard: list[int]
    peak_dbfs: list[float]
    rms_dbfs: list[float]
    peak_dbu: list[float]
    rms_dbu: list[float]
    deviation_hz: list[float | None]
    damage: list[float]
    state: list[int]
    overload: list[list[bool]]
    foreign: list[bool]
    input_overload: list[bool]


def read_meters(blocks: Sequence[Block], last_second: Sequence[Block]) -> Meters:
    """What the meters show for these blocks, of which there is at least one."""
    radio, sound = blocks[-1].radio, blocks[-1].sound
    radios, sounds = [block.radio for block in blocks], [block.sound for block in blocks]
    peak = _merge(np.max, [block.peak_dbfs for block in sounds])
    rms = 10.0 * np.log10(_merge(np.mean, [10.0 ** (block.rms_dbfs / 10.0) for block in sounds]))
    loss = _merge(np.mean, [block.radio.loss for block in last_second])
    return Meters(
        rf_dbm=_dbm(_merge(np.mean, [block.mean_mw for block in radios])),
        rf_min_dbm=_dbm(_merge(np.min, [block.least_mw for block in radios])),
        rf_max_dbm=_dbm(_merge(np.max, [block.most_mw for block in radios])),
        floor_dbm=_each_tenths(radio.floor_dbm),
        link_quality=_thousandths(1.0 - loss),
        heard=radio.heard.tolist(),
        peak_dbfs=_tenths(peak),
        rms_dbfs=_tenths(rms),
        peak_dbu=_tenths(dbu_from_dbfs(peak)),
        rms_dbu=_tenths(dbu_from_dbfs(rms)),
        deviation_hz=_deviations(_merge(np.fmax.reduce, [block.deviation_hz for block in sounds]), radio.heard),
        damage=_thousandths(_merge(np.mean, [block.damage for block in sounds])),
        state=sound.state.tolist(),
        overload=_any([block.overload for block in radios]).tolist(),
        foreign=_any([block.foreign for block in radios]).tolist(),
        input_overload=_any([block.overloaded for block in sounds]).tolist(),
    )


def _merge(how: Callable[..., Any], blocks: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """The blocks merged into one; mostly there is but one."""
    merged: NDArray[np.float64] = blocks[0] if len(blocks) == 1 else how(np.stack(blocks), axis=0)
    return merged


def _any(blocks: list[NDArray[np.bool_]]) -> NDArray[np.bool_]:
    merged: NDArray[np.bool_] = blocks[0] if len(blocks) == 1 else np.any(np.stack(blocks), axis=0)
    return merged


def _dbm(power_mw: NDArray[np.float64]) -> list[list[float]]:
    return _each_tenths(10.0 * np.log10(power_mw))


def _each_tenths(values: NDArray[np.float64]) -> list[list[float]]:
    rounded: list[list[float]] = np.round(values, 1).tolist()
    return rounded


def _tenths(values: NDArray[np.float64]) -> list[float]:
    rounded: list[float] = np.round(values, 1).tolist()
    return rounded


def _thousandths(values: NDArray[np.float64]) -> list[float]:
    rounded: list[float] = np.round(values, 3).tolist()
    return rounded


def _deviations(most_hz: NDArray[np.float64], heard: NDArray[np.intp]) -> list[float | None]:
    rounded = np.round(most_hz, -1).tolist()
    return [None if pack == NOBODY else value for pack, value in zip(heard.tolist(), rounded, strict=True)]
