"""What several antenna inputs make of one another's fades: the better one, or all added in step.

Ratios and shares are for independent Rayleigh branches of equal mean power, the case that textbooks table.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Farther above the mean nothing is left to fade, and a double's exponential would run out.
_CERTAIN_ABOVE = 500.0


def selected(powers: NDArray[np.float64]) -> NDArray[np.float64]:
    """Power of the best branch, for powers [..., branches]; the shape loses its last axis."""
    return np.asarray(powers.max(axis=-1))


def combined(ratios: NDArray[np.float64]) -> NDArray[np.float64]:
    """Signal-to-noise ratio of branches added in step, each weighted by its own ratio [..., branches]: their sum.

    Brennan 1959 names it maximum-ratio combining; the ratios are linear, not in dB.
    """
    return np.asarray(ratios.sum(axis=-1))


def selection_outage(level: ArrayLike, branches: int) -> NDArray[np.float64]:
    """Share of the time below ``level``, a power over the branch's mean: (1 - e^-x)^M.

    Raises ValueError at a negative level or without a branch.
    """
    return np.asarray((-np.expm1(-_checked(level, branches))) ** branches)


def combining_outage(level: ArrayLike, branches: int) -> NDArray[np.float64]:
    """Share of the time below ``level`` with maximum-ratio combining: the regularised lower gamma function P(M, x).

    By its series x^k / k! from k = M up, which loses no digits at deep fades. Raises ValueError at a negative level or
    without a branch.
    """
    ratio = np.minimum(_checked(level, branches), _CERTAIN_ABOVE)
    term = ratio**branches / math.factorial(branches)
    total = np.zeros_like(ratio)
    order = branches
    while np.any(term > np.finfo(np.float64).eps * total):
        total = total + term
        order += 1
        term = term * ratio / order
    return np.asarray(np.minimum(1.0, total * np.exp(-ratio)))


def selection_mean_gain_db(branches: int) -> float:
    """Mean signal-to-noise ratio with selection over that of one branch: the sum of 1/k for k from 1 to M, in dB.

    Raises ValueError without a branch.
    """
    if branches < 1:
        raise ValueError("diversity takes at least one branch")
    return 10.0 * math.log10(sum(1.0 / number for number in range(1, branches + 1)))


def _checked(level: ArrayLike, branches: int) -> NDArray[np.float64]:
    ratio = np.asarray(level, dtype=np.float64)
    if np.any(ratio < 0.0) or branches < 1:
        raise ValueError("a level is at least zero and diversity takes at least one branch")
    return ratio
