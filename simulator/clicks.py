"""Clicks in the sound of receivers whose audio clocks slip: one for each sample that is lost or comes twice."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simulator.rows import Row


class Clicks:
    """The clicks of all rows; ``block_s`` is how long a block lasts."""

    def __init__(self, rows: int, block_s: float) -> None:
        self._block_s = block_s
        self._slips_per_s = np.zeros(rows)
        self._slipped = np.zeros(rows)
        self._none = np.zeros(rows, dtype=np.bool_)

    def set(self, rows: Sequence[Row], slips_per_s: float) -> None:
        """From now on the samples of these rows slip so often."""
        for row in rows:
            self._slips_per_s[row.index] = slips_per_s

    def take(self) -> NDArray[np.bool_]:
        """Which rows click in the next block, [rows]."""
        if not self._slips_per_s.any():
            return self._none
        before = np.floor(self._slipped)
        self._slipped += self._slips_per_s * self._block_s
        return np.floor(self._slipped) > before
