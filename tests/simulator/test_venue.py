from __future__ import annotations

import numpy as np
import pytest

from simulator.rows import rows_of
from simulator.venue import NEAREST_M, Sites, sites_of
from tests.simulator.small_stage import two_channels


def _sites() -> Sites:
    stage = two_channels()
    return sites_of(stage, [row.receiver for row in rows_of(stage)])


def test_distances_are_euclids() -> None:
    """Antennas stand at (-5, 0, 3) and (5, 0, 3): 3-4-5 and 6-8-10 triangles by hand."""
    packs = np.array([[-5.0, 4.0, 0.0], [11.0, 8.0, 3.0]])
    found = _sites().distances_m(np.array([0, 1]), packs)
    assert found[0, 0] == pytest.approx(5.0)
    assert found[1, 1] == pytest.approx(10.0)


def test_nobody_gets_into_the_near_field() -> None:
    found = _sites().distances_m(np.array([0]), np.array([[-5.0, 0.0, 3.0]]))
    assert found[0, 0] == NEAREST_M


def test_the_path_takes_what_free_space_takes() -> None:
    """ITU-R P.525: 46.427 dB over 10 m at 500 MHz."""
    gain = _sites().path_gain_db(np.array([0]), np.array([[-5.0, 10.0, 3.0]]), np.array([500e6]))
    assert gain[0, 0] == pytest.approx(-46.427, abs=0.005)
