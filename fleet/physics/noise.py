"""Noise of warm things and of receivers."""

from __future__ import annotations

import math
from collections.abc import Sequence

BOLTZMANN_J_K = 1.380649e-23  # Exact since the SI of 2019.
REFERENCE_TEMPERATURE_K = 290.0


def noise_power_dbm(bandwidth_hz: float, noise_figure_db: float = 0.0) -> float:
    """Noise of a receiver referred to its input, in dBm: k T0 B plus its noise figure, T0 being 290 K.

    Raises ValueError when the bandwidth is not above zero or the noise figure is below zero.
    """
    if bandwidth_hz <= 0.0 or noise_figure_db < 0.0:
        raise ValueError("bandwidth must be above zero and a noise figure is at least 0 dB")
    return 10.0 * math.log10(BOLTZMANN_J_K * REFERENCE_TEMPERATURE_K * bandwidth_hz) + 30.0 + noise_figure_db


def noise_temperature_k(noise_figure_db: float) -> float:
    """Noise temperature of something with a noise figure, 290 (F - 1) in kelvin (Friis 1944).

    Raises ValueError at a noise figure below zero.
    """
    if noise_figure_db < 0.0:
        raise ValueError("a noise figure is at least 0 dB")
    factor: float = 10.0 ** (noise_figure_db / 10.0)
    return REFERENCE_TEMPERATURE_K * (factor - 1.0)


def cascade_noise_figure_db(stages: Sequence[tuple[float, float]]) -> float:
    """Noise figure of stages in a row, each given as noise figure and gain in dB, in signal order (Friis 1944).

    Raises ValueError without a stage.
    """
    if not stages:
        raise ValueError("a cascade has at least one stage")
    total, gain = 1.0, 1.0
    for noise_figure_db, gain_db in stages:
        total += (10.0 ** (noise_figure_db / 10.0) - 1.0) / gain
        gain *= 10.0 ** (gain_db / 10.0)
    return 10.0 * math.log10(total)
