from __future__ import annotations

import numpy as np

from simulator.rows import rows_of
from simulator.venue import DEAF_DB, antennas_of, sites_of
from tests.simulator.small_stage import channel_text, receiver_text, scenario


def test_a_receiver_with_fewer_inputs_has_deaf_ones_in_the_places_that_are_left() -> None:
    single = receiver_text("rack-2", channel_text("p2")).replace(', b = "Right"', "")
    stage = scenario(receiver_text("rack-1", channel_text("p1")), single)
    sites = sites_of(stage, [row.receiver for row in rows_of(stage)])
    assert sites.antenna.tolist() == [[0, 1], [0, 2]]
    assert sites.deaf.tolist() == [[False, False], [False, True]]
    _, gains_db = antennas_of(stage)
    assert gains_db[2] == DEAF_DB
    assert np.all(gains_db[:2] == 0.0)


def test_a_receiver_says_which_diversity_it_has() -> None:
    adding = receiver_text("rack-2", channel_text("p2")).replace(
        'zone = "Stage"', 'zone = "Stage"\ndiversity = "maximum_ratio"'
    )
    stage = scenario(receiver_text("rack-1", channel_text("p1")), adding)
    assert sites_of(stage, [row.receiver for row in rows_of(stage)]).adds_branches.tolist() == [False, True]
