"""What is no longer as the scenario has it: packs put down, fresh cells, the noise of an analog link."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.bodies import Carried
from simulator.scenario_checks import load
from simulator.sound import hiss_db
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario, watch


def test_nobody_speaks_into_a_pack_that_was_put_down_and_its_field_still_moves() -> None:
    fleet = fleet_of(scenario(receiver_text("rack-1", channel_text("p1", talk=1.0))))
    assert watch(fleet, 20.0)["peak_dbfs"].max() > -25.0
    fleet.world.carry(0, Carried((0.0, 8.0, 1.0), worn=False))
    shown = watch(fleet, 20.0)
    assert shown["peak_dbfs"][10:].max() < -50.0
    assert shown["rf_dbm"][10:, 0, 0].std() > 0.3
    fleet.world.carry(0, None)
    assert watch(fleet, 20.0)["peak_dbfs"].max() > -25.0


def test_fresh_cells_are_another_set() -> None:
    fleet = fleet_of(load("tern-rock"))
    pack = fleet.world.packs[0]
    sets = []
    for _ in range(3):
        sets.append((pack.cells.capacity_wh, pack.cells.resistance_ohm))
        pack.put_cells("li-ion", 1.0)
    assert len(set(sets)) == 3


def test_hiss_of_an_analog_link_by_the_textbook() -> None:
    """D = 3 in 200 kHz with 15 kHz of audio gains 22.55 dB (Carlson; Haykin): from 30 dB, 52.55 of hiss.

    Half of the samples 10 dB weaker, though above the knee: powers are averaged, so 52.55 - 7.40 (by hand, 10 log 5.5).
    """
    ratio_db = np.array([[30.0, 30.0], [30.0, 20.0]])
    assert hiss_db(ratio_db) == pytest.approx([-52.55, -45.15], abs=0.01)
