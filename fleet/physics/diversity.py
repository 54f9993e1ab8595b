"""What several antenna inputs make of one another's fades: the better one, or all added in step.

Ratios and shares are for Rayleigh branches of equal mean power, independent unless it is said otherwise: the case that
textbooks table.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fleet.physics.gamma import gamma_shares

# Farther above the mean nothing is left to fade, and a double's exponential would run out.
_CERTAIN_ABOVE = 500.0
# Branches more alike than that are one, and the series for them is long.
MOST_ALIKE = 0.99
_NEGLIGIBLE_SHARE = 1e-17
# Of two branches in common, nothing is left to a double beyond that.
_CERTAIN_ALIKE = 40.0


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


def alike_selection_outage(level: ArrayLike, power_correlation: float) -> NDArray[np.float64]:
    """Share of the time that the better of two branches is below ``level`` when their powers are correlated.

    The bivariate Rayleigh distribution as its series (1 - r) sum r^k P(k + 1, x / (1 - r))^2 (textbook). Correlation
    of powers is the square of that of fields. Raises ValueError at a negative level, or where the correlation is
    below 0 or above 0.99.
    """
    if not 0.0 <= power_correlation <= MOST_ALIKE:
        raise ValueError("the correlation of two branches' powers lies from 0 to 0.99")
    if power_correlation == 0.0:
        return selection_outage(level, 2)
    apart = 1.0 - power_correlation
    orders = math.ceil(math.log(_NEGLIGIBLE_SHARE) / math.log(power_correlation))
    shares = gamma_shares(np.minimum(_checked(level, 2), _CERTAIN_ALIKE) / apart, orders)
    return np.asarray(apart * (shares**2 @ power_correlation ** np.arange(orders)))


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
