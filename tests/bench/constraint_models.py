"""The question for one room as models for a general solver of constraints: OR-Tools' CP-SAT, where it is installed.

Where both guards of the third order are the same, the rules come to this: all differences of two carriers are the
guard apart from one another. On raster points that is one interval of the guard's length for each difference, none
overlapping; on the guard's own grid, which is enough but not necessary, all differences differ.
"""

from __future__ import annotations

import importlib
import importlib.util
from itertools import combinations
from typing import Any

WORKERS = 2
PACKAGE = "ortools.sat.python.cp_model"


def is_installed() -> bool:
    return importlib.util.find_spec("ortools") is not None


def on_raster(size: int, spacing: int, guard: int, asked: int, limit_s: float) -> tuple[int, ...]:
    """Carriers on any raster points, from 0 on; none where it found none in time."""
    cp_model = importlib.import_module(PACKAGE)
    model, carriers, differences = _model(cp_model, size, spacing, asked)
    model.add_no_overlap([model.new_fixed_size_interval_var(each, guard, "") for each in differences.values()])
    return _solved(cp_model, model, carriers, limit_s)


def on_grid(size: int, spacing: int, guard: int, asked: int, limit_s: float) -> tuple[int, ...]:
    """Carriers on whole multiples of the guard alone."""
    cp_model = importlib.import_module(PACKAGE)
    model, carriers, differences = _model(cp_model, (size - 1) // guard + 1, -(-spacing // guard), asked)
    model.add_all_different(list(differences.values()))
    return tuple(guard * each for each in _solved(cp_model, model, carriers, limit_s))


def _model(cp_model: Any, size: int, spacing: int, asked: int) -> tuple[Any, list[Any], dict[tuple[int, int], Any]]:
    """Carriers ascending from 0, and their differences; of a set and its mirror image only one."""
    model = cp_model.CpModel()
    carriers = [model.new_int_var(0, size - 1, "") for _ in range(asked)]
    differences = {}
    model.add(carriers[0] == 0)
    for lower, upper in combinations(range(asked), 2):
        apart = upper - lower
        least = max(spacing * apart, apart * (apart + 1) // 2)
        differences[lower, upper] = model.new_int_var(min(least, size - 1), size - 1, "")
        model.add(differences[lower, upper] == carriers[upper] - carriers[lower])
    model.add(differences[0, 1] < differences[asked - 2, asked - 1])
    return model, carriers, differences


def _solved(cp_model: Any, model: Any, carriers: list[Any], limit_s: float) -> tuple[int, ...]:
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit_s
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = 1
    if solver.solve(model) not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return ()
    return tuple(solver.value(each) for each in carriers)
