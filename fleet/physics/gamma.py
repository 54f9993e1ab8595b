"""Regularised lower gamma functions, which say how often a sum of faded powers falls below a level."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

# So many standard deviations beyond its mean, and sixty terms more, nothing of a Poisson distribution is left.
_DEVIATIONS = 12.0
_MORE_TERMS = 60


def terms_of(mean: float) -> int:
    """How many terms of a Poisson distribution of that mean matter to a double."""
    return math.ceil(mean + _DEVIATIONS * math.sqrt(mean)) + _MORE_TERMS


def poisson_shares(mean: ArrayLike, terms: int) -> NDArray[np.float64]:
    """Poisson probabilities of 0, 1, … for means of at least zero: [..., terms]."""
    counted = np.maximum(np.asarray(mean, dtype=np.float64), np.finfo(np.float64).tiny)[..., np.newaxis]
    order = np.arange(terms)
    log_factorials = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1.0, max(terms, 2))))])[:terms]
    return np.asarray(np.exp(order * np.log(counted) - counted - log_factorials))


def gamma_shares(level: ArrayLike, orders: int) -> NDArray[np.float64]:
    """P(1, x), P(2, x), … P(orders, x) for levels x of at least zero: [..., orders].

    Each is the tail of a Poisson distribution (textbook), added from its end: no digits are lost where it is small.
    Up to a level of 4,000 it is within 1e-10 of its value; time and memory grow with the greatest level.
    """
    levels = np.asarray(level, dtype=np.float64)
    terms = orders + terms_of(float(levels.max(initial=0.0)))
    tails = np.cumsum(poisson_shares(levels, terms)[..., ::-1], axis=-1)[..., ::-1]
    return np.asarray(np.minimum(tails[..., 1 : orders + 1], 1.0))
