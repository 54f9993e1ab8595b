"""From an antenna to a receiver: cables, boosters, splitters, zones joined into one feed.

A stage is a gain and a noise figure, both in dB; a chain is its stages in the order in which the signal meets them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.physics.noise import cascade_noise_figure_db

# Common practice: what a splitter or combiner takes beyond dividing the power; two ways come to 3.5 dB.
EXCESS_DB = 0.5


@dataclass(frozen=True, slots=True)
class Stage:
    """One piece of a chain. A loss is a negative gain. Raises ValueError at a noise figure below zero."""

    gain_db: float
    noise_figure_db: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.gain_db) and 0.0 <= self.noise_figure_db < math.inf):
            raise ValueError("a gain is a number of decibels and a noise figure at least 0 dB")


def passive(loss_db: float) -> Stage:
    """Something matched that only loses: at 290 K its noise figure is its loss (textbook, after Friis 1944)."""
    if loss_db < 0.0:
        raise ValueError("what is passive loses at least 0 dB")
    return Stage(-loss_db, loss_db)


def cable(length_m: float, loss_db_m: float) -> Stage:
    """A feed of a length whose cable loses so much a metre. Raises ValueError where either is negative."""
    if length_m < 0.0 or loss_db_m < 0.0:
        raise ValueError("a cable's length and its loss a metre are at least zero")
    return passive(length_m * loss_db_m)


def cable_loss_db_m(loss_db_m: float, stated_hz: float, frequency_hz: float) -> float:
    """Loss a metre at another frequency than it is stated for: as the square root of the frequency.

    Common practice, from the skin effect; it leaves out the dielectric, which counts above some gigahertz. Raises
    ValueError at frequencies not above zero or a negative loss.
    """
    if stated_hz <= 0.0 or frequency_hz <= 0.0 or loss_db_m < 0.0:
        raise ValueError("frequencies must be above zero and a loss at least zero")
    return loss_db_m * math.sqrt(frequency_hz / stated_hz)


def splitter(ways: int, excess_db: float = EXCESS_DB) -> Stage:
    """One feed into equal ways: 10 log10 of their number and the excess. Raises ValueError without a way."""
    if ways < 1 or excess_db < 0.0:
        raise ValueError("a splitter has at least one way and an excess of at least 0 dB")
    return passive(10.0 * math.log10(ways) + excess_db)


def chain_gain_db(stages: Sequence[Stage]) -> float:
    """Gain from the antenna to the receiver's input; negative where the feed loses. Nothing between is 0 dB."""
    return sum((stage.gain_db for stage in stages), 0.0)


def chain_noise_figure_db(stages: Sequence[Stage], receiver_noise_figure_db: float) -> float:
    """Noise figure of a receiver as its antenna sees it through the chain (Friis 1944)."""
    receiver = Stage(0.0, receiver_noise_figure_db)
    return cascade_noise_figure_db([(stage.noise_figure_db, stage.gain_db) for stage in (*stages, receiver)])


def joined_noise_figure_db(zones: int, stages: Sequence[Stage], receiver_noise_figure_db: float) -> float:
    """Noise figure as one zone sees it when that many, alike and equally loud with noise, share one receiver.

    Each zone's signal is divided by their number while their noises add up to what one has: 10 log10 k more than a
    zone alone has (common practice), exactly so where antennas see 290 K. ``stages`` lie before the receiver as for
    one zone, the combiner's excess among them but not its division. Raises ValueError without a zone.
    """
    if zones < 1:
        raise ValueError("at least one zone feeds a receiver")
    return chain_noise_figure_db(stages, receiver_noise_figure_db) + 10.0 * math.log10(zones)
