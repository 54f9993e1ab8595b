"""The strand's axis: time running away from now by ln(1 + age / 5 s), over two hours, in equal cells."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

AXIS_CONSTANT_S = 5.0
AXIS_END_S = 7_200.0
CELLS_MINIMUM = 16
CELLS_MAXIMUM = 4_096
BIN_US = 100_000
BINS = 256
LEVELS = 10
NO_BIN = -1
_REACH_BINS = BINS - 2

Numbers = NDArray[np.int64]


def axis_edges_s(cells: int) -> NDArray[np.float64]:
    """The ages at the edges of the cells, in seconds, newest first.

    Edge i of n is 5·(e^(iU/n) - 1) with U = ln(1 + 7200 / 5). Raises ValueError unless there are 16 to 4,096 cells.
    """
    if not CELLS_MINIMUM <= cells <= CELLS_MAXIMUM:
        raise ValueError(f"the axis has {CELLS_MINIMUM} to {CELLS_MAXIMUM} cells, not {cells}")
    end = np.log1p(AXIS_END_S / AXIS_CONSTANT_S)
    edges: NDArray[np.float64] = AXIS_CONSTANT_S * np.expm1(np.linspace(0.0, end, cells + 1))
    return edges


def bins_of_cells(now_us: int, cells: int) -> tuple[Numbers, Numbers]:
    """The level of each cell, [cell, 1], and the numbers of its bins, [cell, bin], padded with ``NO_BIN``.

    A cell reads the coarsest level whose bins are neither wider than the cell nor wider than its age, for those are
    closed already, and none that doesn't reach back so far. A bin belongs to the cell in which it begins; a cell
    narrower than a bin reads the one that it lies in.
    """
    edges_us = axis_edges_s(cells) * 1e6
    newer, older = edges_us[:-1], edges_us[1:]
    reaching = np.ceil(np.log2(np.maximum(older / (BIN_US * _REACH_BINS), 1.0)))
    fitting = np.floor(np.log2(np.maximum(np.minimum(older - newer, newer) / BIN_US, 1.0)))
    levels = np.clip(np.maximum(reaching, fitting), 0, LEVELS - 1).astype(np.int64)
    width_us = (BIN_US << levels).astype(np.float64)
    first = np.ceil((now_us - older) / width_us).astype(np.int64)
    last = np.ceil((now_us - newer) / width_us).astype(np.int64) - 1
    first = np.minimum(first, last)
    numbers = first[:, np.newaxis] + np.arange(int((last - first).max()) + 1)
    kept = (numbers <= last[:, np.newaxis]) & (numbers >= 0)
    return levels[:, np.newaxis], np.where(kept, numbers, NO_BIN)
