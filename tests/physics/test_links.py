from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from fleet.physics.links import CLIFF_CARRIER_TO_NOISE_DB, companded_noise_db, frame_loss_fraction


def test_the_cliff_has_a_top_an_edge_and_a_foot() -> None:
    ratios = CLIFF_CARRIER_TO_NOISE_DB + np.array([-60.0, -7.0, 0.0, 7.0, 60.0])
    assert frame_loss_fraction(ratios) == pytest.approx([1.0, 1.0, 0.5, 0.0, 0.0])


@given(lower=some.floats(-200.0, 200.0), more=some.floats(0.0, 100.0))
def test_more_signal_never_loses_more(lower: float, more: float) -> None:
    losses = frame_loss_fraction(np.array([lower, lower + more]))
    assert 0.0 <= losses[1] <= losses[0] <= 1.0


def test_a_compander_hides_noise_by_as_much_as_the_signal_is_compressed() -> None:
    """An ideal 2:1 compander by hand: a signal 40 dB down is sent 20 dB down and expanded by 20 dB, noise and all."""
    assert companded_noise_db(-60.0, -40.0) == pytest.approx(-80.0)
    assert companded_noise_db(-60.0, -200.0) == pytest.approx(-120.0)
    assert companded_noise_db(-60.0, 0.0) == pytest.approx(-60.0)
