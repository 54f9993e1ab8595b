"""Estimates from independent seeds, and how far they may lie from a theory.

Three standard errors always, and in a soak, which runs more than ten times as long, 5 per cent of the theory instead.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tests.promises.promise import TIER, Tier
from tests.statistics.running import SEEDS

WIDEST, SHARE = 0.25, 0.05


def agrees(each_seed: ArrayLike, theory: float, name: str, errors: float = 3.0) -> None:
    """Hold the mean over the seeds against a theory: within three of its standard errors, which the seeds give."""
    found = np.asarray(each_seed, dtype=np.float64)
    assert len(found) == len(SEEDS) >= 30
    mean, error = float(found.mean()), float(found.std(ddof=1) / np.sqrt(len(found)))
    print(
        f"{name}: {mean:.5g}, theory {theory:.5g}, standard error {error:.2g}, {(mean - theory) / error:+.1f} of them"
    )
    print(f"seeds {SEEDS[0]} to {SEEDS[-1]}")
    assert error <= WIDEST * abs(theory), "so wide an error proves nothing"
    within = errors * error if TIER is Tier.TEST else SHARE * abs(theory)
    assert abs(mean - theory) <= within


def crossings_per_s(power: NDArray[np.float64], level: float, sample_s: float) -> float:
    """How often a second the power rises through a level; samples are the last axis."""
    below = power < level
    rises = np.count_nonzero(below[..., :-1] & ~below[..., 1:])
    return rises / (below[..., 1:].size * sample_s)
