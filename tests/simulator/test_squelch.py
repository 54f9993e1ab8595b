from __future__ import annotations

import numpy as np

from simulator.squelch import HYSTERESIS_DB, Squelch


def test_a_squelch_opens_at_its_level_and_closes_below_it() -> None:
    """By hand, for a squelch at -80 dBm and the stated 3 dB: between -83 and -80 it stays as it was."""
    squelch = Squelch(np.array([1e-8]))
    assert HYSTERESIS_DB == 3.0
    levels_dbm = [-90.0, -81.0, -79.9, -81.0, -82.9, -83.1, -82.0, -80.0]
    found = squelch.advance(10.0 ** (np.array([levels_dbm]) / 10.0))
    assert found.tolist() == [[False, False, True, True, True, False, False, True]]
    assert squelch.advance(np.array([[10.0**-8.2]])).tolist() == [[True]]  # It remembers from block to block.
