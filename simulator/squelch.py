"""The squelch of analog receivers: it opens at its level, and closes only some way below."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Assumption: so far below the level at which it opens, a squelch closes.
HYSTERESIS_DB = 3.0
_CLOSES = 10.0 ** (-HYSTERESIS_DB / 10.0)


class Squelch:
    """The squelches of all rows; ``opens_mw`` [rows] is where each opens."""

    def __init__(self, opens_mw: NDArray[np.float64]) -> None:
        self.opens_mw = opens_mw
        self._open = np.zeros(len(opens_mw), dtype=np.bool_)

    def advance(self, level_mw: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether each is open at each sample, [rows, samples], by the levels of the better branch there."""
        opens = level_mw >= self.opens_mw[:, np.newaxis]
        decided = opens | (level_mw < _CLOSES * self.opens_mw[:, np.newaxis])
        samples = np.arange(level_mw.shape[1])
        last = np.maximum.accumulate(np.where(decided, samples, -1), axis=1)
        kept = np.where(last >= 0, np.take_along_axis(opens, np.maximum(last, 0), axis=1), self._open[:, np.newaxis])
        self._open = kept[:, -1]
        return np.asarray(kept)
