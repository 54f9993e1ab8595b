"""What the running world's receivers gain by two branches, behind their diversity and before any meter."""

from __future__ import annotations

import numpy as np
import pytest

from tests.statistics.estimates import agrees
from tests.statistics.running import ADDING, BETTER, runs

# Level that is undercut 1 % of the time, about a branch's mean: -19.978 dB with one branch.
ONE_BRANCH_DB = -19.978


@pytest.mark.parametrize(
    ("rows", "level_db", "gain_db"), [(BETTER, -9.773, 10.205), (ADDING, -8.281, 11.697)], ids=["better", "adding"]
)
def test_gain_at_one_per_cent(rows: slice, level_db: float, gain_db: float) -> None:
    """Two equal Rayleigh branches: 10.2 dB by taking the better one, 11.7 dB by adding both by their ratios."""
    assert level_db - ONE_BRANCH_DB == pytest.approx(gain_db, abs=0.005)
    found = [10.0 * np.log10(np.quantile(run.ratio[rows], 0.01)) - ONE_BRANCH_DB for run in runs()]
    agrees(found, gain_db, "gain of two branches at 1 % in dB")


@pytest.mark.parametrize(("rows", "share"), [(BETTER, 9.0559e-3), (ADDING, 4.6788e-3)], ids=["better", "adding"])
def test_outage_ten_decibels_below_the_mean(rows: slice, share: float) -> None:
    agrees([np.mean(run.ratio[rows] < 0.1) for run in runs()], share, "outage at -10 dB")
