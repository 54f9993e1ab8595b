"""All third-order products of all carriers at one antenna, as power on a grid of frequencies, by Fourier transforms.

Nothing is left out, however many carriers there are: the products' powers of a whole family are a correlation of the
carriers' powers, as their counts are (``fleet.physics.intermodulation``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Powers = NDArray[np.float64]
Frequencies = NDArray[np.int64]
FINEST_HZ = 1_000
"""The grid is as coarse as the carriers' own raster, but never finer than this: then places are rounded to it."""
POINTS_MAXIMUM = 500_000
# What lies so far below the strongest sum is the transforms' own rounding.
_ROUNDING = 1e-13
# A triple beat has twice the amplitude of a product of two.
_TRIPLE_POWER = 4.0


@dataclass(frozen=True, slots=True)
class ProductSums:
    """Powers of products in milliwatts at the input, added up from the lowest: ``sums`` [points + 1]."""

    first_hz: int
    step_hz: int
    sums: Powers

    def within_mw(self, frequency_hz: Frequencies, half_width_hz: Powers) -> Powers:
        """What falls less than a half width from each frequency, [frequencies]."""
        last = len(self.sums) - 1
        low = np.floor((frequency_hz - half_width_hz - self.first_hz) / self.step_hz).astype(np.int64) + 1
        high = np.ceil((frequency_hz + half_width_hz - self.first_hz) / self.step_hz).astype(np.int64)
        return np.asarray(self.sums[np.clip(high, 0, last)] - self.sums[np.clip(low, 0, last)])


def product_sums(frequency_hz: Frequencies, power_mw: Powers, intercept_dbm: float) -> ProductSums:
    """The products 2A - B and A + B - C of carriers with these powers at an input of that intercept point.

    Carriers of one frequency count as one of their powers' sum. Levels are those of ``fleet.physics.third_order``.
    """
    step_hz, points = _grid(frequency_hz)
    low_hz = int(frequency_hz.min()) if len(frequency_hz) else 0
    span = int(points.max(initial=0)) + 1
    each = np.bincount(points, weights=power_mw, minlength=span).astype(np.float64)
    cubed = _products(each)
    over_intercept = 10.0 ** (intercept_dbm / 5.0)
    return ProductSums(
        low_hz - (span - 1) * step_hz, step_hz, np.concatenate([[0.0], np.cumsum(cubed / over_intercept)])
    )


def _grid(frequency_hz: Frequencies) -> tuple[int, Frequencies]:
    """The step of the grid, and each carrier's point on it counted from the lowest."""
    if not len(frequency_hz):
        return FINEST_HZ, frequency_hz
    above_hz = frequency_hz - frequency_hz.min()
    common_hz = int(np.gcd.reduce(above_hz)) or FINEST_HZ
    step_hz = max(common_hz, FINEST_HZ, -(-int(above_hz.max()) // POINTS_MAXIMUM))
    return step_hz, np.rint(above_hz / step_hz).astype(np.int64)


def _products(each: Powers) -> Powers:
    """Sums of Pa^2 Pb at 2a - b and 4 Pa Pb Pc at a + b - c, from point -(n - 1) on: [3 n - 2].

    The correlation of all a, b and c holds the products of three twice, those of two once, and what is one of its own
    makers again; the last of these stand on the carriers and are taken off there.
    """
    span = len(each)
    length = 3 * span - 2
    size = 1 << (length - 1).bit_length()
    doubled = np.zeros(2 * span - 1)
    doubled[::2] = each**2
    spectrum, mirrored = np.fft.rfft(each, size), np.fft.rfft(each[::-1], size)
    all_three = np.fft.irfft(spectrum**2 * mirrored, size)[:length]
    two = np.fft.irfft(np.fft.rfft(doubled, size) * mirrored, size)[:length]
    rounding = _ROUNDING * all_three.max(initial=0.0)
    own, cubes = slice(span - 1, 2 * span - 1), each**3
    two[own] -= cubes
    all_three[own] -= 2.0 * each * (each**2).sum() - cubes
    three = (all_three - two) / 2.0
    found = two + _TRIPLE_POWER * three
    return np.where(found > rounding, found, 0.0)
