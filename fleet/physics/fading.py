"""Small-scale fading by rotating phasors: Clarke's scatterers around a moving antenna, with or without a direct path.

A row is one antenna input. Each row is the sum of scattered phasors from all around and one direct phasor; moving turns
each by its own Doppler shift. All rows turn at once, and turning is a multiplication, which costs far less than sines.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fleet.physics.propagation import SPEED_OF_LIGHT_M_S

Complex = TypeVar("Complex", np.complex64, np.complex128)


def doppler_hz(speed_m_s: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """Greatest Doppler shift of a mover, in Hz: speed over wavelength. Raises ValueError at a negative speed."""
    speed = np.asarray(speed_m_s, dtype=np.float64)
    if np.any(speed < 0.0):
        raise ValueError("a speed is at least zero")
    return np.asarray(speed * np.asarray(frequency_hz, dtype=np.float64) / SPEED_OF_LIGHT_M_S)


def first_phasors(phases_rad: ArrayLike, rician_k: ArrayLike) -> NDArray[np.complex128]:
    """Phasors of unit mean power in total, shape of ``phases_rad`` [..., scatterers + 1], the direct path last.

    ``rician_k`` [...] is the power of the direct path over that of the scattered ones, as a ratio; zero is Rayleigh
    fading. Raises ValueError where it is negative.
    """
    ratio = np.asarray(rician_k, dtype=np.float64)[..., np.newaxis]
    if np.any(ratio < 0.0):
        raise ValueError("a Rician K is a ratio of powers, at least zero")
    phases = np.asarray(phases_rad, dtype=np.float64)
    scatterers = phases.shape[-1] - 1
    scattered = np.sqrt(1.0 / (scatterers * (ratio + 1.0)))
    direct = np.sqrt(ratio / (ratio + 1.0))
    amplitudes = np.concatenate([np.broadcast_to(scattered, (*phases.shape[:-1], scatterers)), direct], axis=-1)
    return np.asarray(amplitudes * np.exp(1j * phases))


def turned(turn_rad: NDArray[np.float32]) -> NDArray[np.complex64]:
    """What a phasor is multiplied by to turn so far, same shape; in single precision."""
    rotation = np.empty(turn_rad.shape, dtype=np.complex64)
    rotation.real, rotation.imag = np.cos(turn_rad), np.sin(turn_rad)
    return rotation


def turn_fields(
    phasors: NDArray[Complex], rotation: NDArray[Complex], steps: int
) -> tuple[NDArray[Complex], NDArray[Complex]]:
    """Turn phasors [..., branches, scatterers] that many steps, all branches at once by rotations [..., scatterers].

    Gives the field at each step, [..., branches, steps], and the phasors at the end. In single precision the length of
    a phasor drifts by some 1e-4 in a day of 10 calls a second, in double precision by 1e-12: none needs renormalising.
    """
    after = phasors.copy()
    by_branch = rotation[..., np.newaxis, :]
    fields = np.empty((*phasors.shape[:-1], steps), dtype=phasors.dtype)
    for step in range(steps):
        np.multiply(after, by_branch, out=after)
        after.sum(axis=-1, out=fields[..., step])
    return fields, after


def scatterer_angles_rad(turn: ArrayLike, scatterers: int) -> NDArray[np.float64]:
    """Where scatterers stand, evenly around (Clarke 1968): [..., scatterers], turned by a draw [...] from 0 to 1."""
    offset = np.asarray(turn, dtype=np.float64)[..., np.newaxis]
    return np.asarray(2.0 * np.pi * (np.arange(scatterers) + offset) / scatterers)


def phases_of_place_rad(angles_rad: ArrayLike, place_m: ArrayLike, frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """How far a place [..., 2] in metres turns a wave from each angle [..., scatterers], at a frequency [...].

    With angles even around the compass, places d apart see fields whose correlation is J0(2 pi d / wavelength).
    """
    angles = np.asarray(angles_rad, dtype=np.float64)
    place = np.asarray(place_m, dtype=np.float64)[..., np.newaxis, :]
    number = 2.0 * np.pi * np.asarray(frequency_hz, dtype=np.float64)[..., np.newaxis] / SPEED_OF_LIGHT_M_S
    return np.asarray(number * (place[..., 0] * np.cos(angles) + place[..., 1] * np.sin(angles)))
