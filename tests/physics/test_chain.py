"""Chains from the antenna to the receiver, against a bookkeeping of noise powers, piece by piece in milliwatts.

The oracle follows kT0 through every piece: it is amplified with the signal, and each piece adds its own.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from fleet.physics.chain import (
    EXCESS_DB,
    Stage,
    cable,
    cable_loss_db_m,
    chain_gain_db,
    chain_noise_figure_db,
    joined_noise_figure_db,
    passive,
    splitter,
)

LOSS = some.floats(0.0, 30.0)
GAIN = some.floats(0.0, 30.0)
FIGURE = some.floats(0.0, 15.0)


def _ratio(value_db: float) -> float:
    return float(10.0 ** (value_db / 10.0))


def test_a_loss_before_the_receiver_adds_to_its_noise_figure() -> None:
    """Textbook: 6 dB of cable before 6 dB are 12 dB."""
    assert chain_noise_figure_db([cable(15.0, 0.4)], 6.0) == pytest.approx(12.0)
    assert chain_gain_db([cable(15.0, 0.4)]) == pytest.approx(-6.0)
    assert chain_noise_figure_db([], 6.0) == pytest.approx(6.0)


def test_a_booster_goes_before_the_cable() -> None:
    """A booster of 3 dB and 15 dB of gain before the rest, which has 8 dB: 3.351 dB (Friis 1944)."""
    assert chain_noise_figure_db([Stage(15.0, 3.0), passive(2.0)], 6.0) == pytest.approx(3.351, abs=0.002)
    assert chain_noise_figure_db([passive(2.0), Stage(15.0, 3.0)], 6.0) > 5.0


@given(LOSS, GAIN, FIGURE, LOSS, FIGURE)
def test_friis_is_the_bookkeeping_of_noise(
    before_db: float, gain_db: float, figure_db: float, after_db: float, receiver_db: float
) -> None:
    noise, gain = 1.0, 1.0  # In units of k T0 B.
    for stage_gain, added in (
        (_ratio(-before_db), 1.0 - _ratio(-before_db)),
        (_ratio(gain_db), (_ratio(figure_db) - 1.0) * _ratio(gain_db)),
        (_ratio(-after_db), 1.0 - _ratio(-after_db)),
        (1.0, _ratio(receiver_db) - 1.0),
    ):
        noise, gain = noise * stage_gain + added, gain * stage_gain
    expected_db = 10.0 * math.log10(noise / gain)
    chain = [passive(before_db), Stage(gain_db, figure_db), passive(after_db)]
    assert chain_noise_figure_db(chain, receiver_db) == pytest.approx(expected_db, abs=1e-9)


@given(some.integers(1, 16), GAIN, FIGURE, LOSS, FIGURE)
def test_joined_zones_add_up_their_noise(
    zones: int, gain_db: float, figure_db: float, excess_db: float, receiver_db: float
) -> None:
    """Each zone's noise leaves its booster and is divided by their number; there are as many of them."""
    gain, excess = _ratio(gain_db), _ratio(excess_db)
    joined = zones * (gain * _ratio(figure_db)) / zones
    noise = joined / excess + (1.0 - 1.0 / excess) + _ratio(receiver_db) - 1.0
    expected_db = 10.0 * math.log10(noise / (gain / zones / excess))
    stages = [Stage(gain_db, figure_db), passive(excess_db)]
    assert joined_noise_figure_db(zones, stages, receiver_db) == pytest.approx(expected_db, abs=1e-9)


def test_figures_of_the_trade() -> None:
    """Common practice: a two-way split costs about 3.5 dB, four joined zones add 6 dB of noise."""
    assert chain_gain_db([splitter(2)]) == pytest.approx(-3.5, abs=0.05)
    assert splitter(1).gain_db == -EXCESS_DB
    more_db = joined_noise_figure_db(4, [Stage(10.0, 3.0)], 6.0) - joined_noise_figure_db(1, [Stage(10.0, 3.0)], 6.0)
    assert more_db == pytest.approx(6.0, abs=0.05)


def test_cables_lose_more_at_higher_frequencies() -> None:
    """By the square root: four times the frequency is twice the loss."""
    assert cable_loss_db_m(0.1, 600e6, 2_400e6) == pytest.approx(0.2)
    assert cable_loss_db_m(0.1, 600e6, 600e6) == pytest.approx(0.1)


def test_edges_are_refused() -> None:
    with pytest.raises(ValueError, match="noise figure at least 0 dB"):
        Stage(10.0, -0.1)
    with pytest.raises(ValueError, match="a gain is a number"):
        Stage(math.nan, 1.0)
    with pytest.raises(ValueError, match="loses at least"):
        passive(-1.0)
    for length_m, loss_db_m in ((-1.0, 0.1), (1.0, -0.1)):
        with pytest.raises(ValueError, match="at least zero"):
            cable(length_m, loss_db_m)
    with pytest.raises(ValueError, match="frequencies must be above zero"):
        cable_loss_db_m(0.1, 0.0, 600e6)
    with pytest.raises(ValueError, match="at least one way"):
        splitter(0)
    with pytest.raises(ValueError, match="at least one zone"):
        joined_noise_figure_db(0, [], 6.0)
