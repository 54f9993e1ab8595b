"""What a radio link makes of its carrier-to-noise ratio: the cliff of a digital one, the knee of an analog one."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Assumptions, plausible rather than measured: where half of the frames are lost, and how steep the cliff is there.
CLIFF_CARRIER_TO_NOISE_DB = 12.0
CLIFF_WIDTH_DB = 0.8
# A textbook discriminator has its knee near 10 dB; below it, output falls faster than input (Rice 1963). The slope
# of 3 dB for each dB is an assumption about shape.
FM_KNEE_DB = 10.0
FM_SLOPE_BELOW_KNEE = 3.0
_NEGLIGIBLE_LOSS = 5e-4
_EXPONENT_LIMIT = 60.0


def frame_loss_fraction(carrier_to_noise_db: ArrayLike) -> NDArray[np.float64]:
    """Share of digital audio frames lost at a carrier-to-noise ratio, 0 to 1, same shape.

    A logistic cliff, an assumption: half at the cliff, nothing 6 dB above it, all 6 dB below.
    """
    above_db = np.asarray(carrier_to_noise_db, dtype=np.float64) - CLIFF_CARRIER_TO_NOISE_DB
    loss = 1.0 / (1.0 + np.exp(np.clip(above_db / CLIFF_WIDTH_DB, -_EXPONENT_LIMIT, _EXPONENT_LIMIT)))
    return np.where(loss < _NEGLIGIBLE_LOSS, 0.0, np.where(loss > 1.0 - _NEGLIGIBLE_LOSS, 1.0, loss))


def companded_noise_db(noise_db: ArrayLike, signal_db: ArrayLike) -> NDArray[np.float64]:
    """Noise behind a 2:1 compander, in dB about the level that it leaves alone, shapes broadcast.

    The expander takes as many decibels off everything as the compressed signal, or else the noise itself, lies below
    that level: the noise breathes with the signal. A textbook's ideal expander, without attack or release.
    """
    noise = np.asarray(noise_db, dtype=np.float64)
    compressed = np.maximum(np.asarray(signal_db, dtype=np.float64) / 2.0, noise)
    return np.asarray(noise + np.minimum(compressed, 0.0))


def carson_bandwidth_hz(deviation_hz: float, audio_bandwidth_hz: float) -> float:
    """Bandwidth of a frequency-modulated carrier by Carson's rule, 2 (deviation + audio bandwidth)."""
    if deviation_hz < 0.0 or audio_bandwidth_hz <= 0.0:
        raise ValueError("deviation is at least zero and audio bandwidth above zero")
    return 2.0 * (deviation_hz + audio_bandwidth_hz)


def fm_improvement_db(deviation_ratio: float) -> float:
    """Output over input signal-to-noise of an FM link above its knee, in Carson's bandwidth: 3 D^2 (D + 1).

    For a sine at full deviation (Carlson; Haykin). Raises ValueError at a ratio not above zero.
    """
    if deviation_ratio <= 0.0:
        raise ValueError("a deviation ratio must be above zero")
    return 10.0 * math.log10(3.0 * deviation_ratio**2 * (deviation_ratio + 1.0))


def fm_gain_db(deviation_ratio: float, bandwidth_hz: float, audio_bandwidth_hz: float) -> float:
    """Output over input signal-to-noise of an FM link above its knee, in any bandwidth: 3/2 D^2 B / W, for a sine.

    Carlson; Haykin. Raises ValueError where one of them is not above zero.
    """
    if min(deviation_ratio, bandwidth_hz, audio_bandwidth_hz) <= 0.0:
        raise ValueError("a deviation ratio and both bandwidths must be above zero")
    return 10.0 * math.log10(1.5 * deviation_ratio**2 * bandwidth_hz / audio_bandwidth_hz)


def fm_output_snr_db(carrier_to_noise_db: ArrayLike, deviation_ratio: float) -> NDArray[np.float64]:
    """Audio signal-to-noise ratio of an FM link in dB, linear above the knee and falling faster below it."""
    ratio_db = np.asarray(carrier_to_noise_db, dtype=np.float64)
    below_db = np.maximum(FM_KNEE_DB - ratio_db, 0.0)
    return np.asarray(ratio_db + fm_improvement_db(deviation_ratio) - (FM_SLOPE_BELOW_KNEE - 1.0) * below_db)
