"""What a receiver's front end makes of all that reaches it at once: compression, noise that a strong signal brings.

The numbers are assumptions; a front end that compresses by 1 dB at about -17 dBm is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.physics.decibels import mw_from_dbm
from simulator.venue import Sites

# Assumption: what a receiver hears of its own in 200 kHz, 6 dB above the warmth of its input.
OWN_NOISE_DBM = -115.0
COMPRESSION_POINT_DBM = -17.0
# Assumption: a strong signal brings noise into every channel, this far below itself.
RECIPROCAL_MIXING_DB = -80.0
# What is weaker than this in all leaves no trace of either.
HARMLESS_DBM = -40.0
# A gain of 1 / (1 + c p) has fallen by 1 dB where c p is this.
_AT_COMPRESSION_POINT = 10.0**0.1 - 1.0
FOREIGN_ABOVE_FLOOR = 10.0


@dataclass(frozen=True, slots=True)
class FrontEnds:
    """All front ends in one moment, [rows, branches] but ``foreign``, [rows]; powers are in milliwatts at the input.

    ``gain`` is what lies between antenna and input beyond the usual, ``floor_mw`` all noise, ``other_mw`` what others
    put on the carrier itself, ``compression`` what is left of everything.
    """

    gain: NDArray[np.float64]
    floor_mw: NDArray[np.float64]
    other_mw: NDArray[np.float64]
    compression: NDArray[np.float64]
    overload: NDArray[np.bool_]
    foreign: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Arriving:
    """Powers [rows, branches] as they are at the antennas' usual end: all together, strangers on the carrier, noise.

    ``beside_mw`` is what else gets into the channel: through the filters, or as a product of neighbouring packs.
    ``product_mw`` is what the front end makes of others itself; it is their product, so that it falls three times as
    much as they do.
    """

    load_mw: NDArray[np.float64]
    stranger_mw: NDArray[np.float64]
    noise_mw: NDArray[np.float64]
    beside_mw: NDArray[np.float64]
    product_mw: NDArray[np.float64]


def site_noise_mw(sites: Sites) -> NDArray[np.float64]:
    """What the site itself adds to a receiver's own noise, [rows]."""
    return np.maximum(mw_from_dbm(sites.floor_dbm) - mw_from_dbm(OWN_NOISE_DBM), 0.0)


def plain_fronts(sites: Sites) -> FrontEnds:
    """Front ends with nothing out of the ordinary before them."""
    nothing = np.zeros(sites.antenna.shape)
    gain = np.where(sites.deaf, 0.0, 1.0)
    return front_ends(sites, gain, Arriving(nothing, nothing, nothing, nothing, nothing), np.zeros(len(gain)))


def front_ends(sites: Sites, gain: NDArray[np.float64], arriving: Arriving, noise_db: NDArray[np.float64]) -> FrontEnds:
    """Front ends under a load.

    ``gain`` [rows, branches] is what lies before them; ``noise_db`` [rows] how much more noise than in the usual
    200 kHz is let in.
    """
    at_input_mw = arriving.load_mw * gain
    harm_mw = np.where(at_input_mw > mw_from_dbm(HARMLESS_DBM), at_input_mw, 0.0)
    usual_mw = site_noise_mw(sites)[:, np.newaxis] * gain + mw_from_dbm(OWN_NOISE_DBM)
    all_mw = usual_mw + arriving.noise_mw * gain + harm_mw * 10.0 ** (RECIPROCAL_MIXING_DB / 10.0)
    floor_mw = all_mw * 10.0 ** (noise_db / 10.0)[:, np.newaxis]
    on_carrier_mw = arriving.stranger_mw * gain
    return FrontEnds(
        gain=gain,
        floor_mw=floor_mw,
        other_mw=on_carrier_mw + arriving.beside_mw * gain + arriving.product_mw * gain**3,
        compression=1.0 / (1.0 + _AT_COMPRESSION_POINT * harm_mw / mw_from_dbm(COMPRESSION_POINT_DBM)),
        overload=at_input_mw > mw_from_dbm(COMPRESSION_POINT_DBM),
        foreign=np.any(on_carrier_mw > FOREIGN_ABOVE_FLOOR * floor_mw, axis=1),
    )
