from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from simulator.luck import Luck, NormalDraws
from tests.simulator.desk import Desk
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario


def test_the_same_name_and_seed_have_the_same_luck() -> None:
    assert Luck(3).word("boot") == Luck(3).word("boot")
    assert Luck(3).word("boot") != Luck(4).word("boot")
    assert Luck(3).word("boot") != Luck(3).word("boots")


def test_a_negative_seed_is_refused() -> None:
    with pytest.raises(ValueError, match="seed"):
        Luck(-1)


def test_draws_are_normal_and_each_rows_own() -> None:
    """Against scipy's Kolmogorov-Smirnov test, at one in a thousand."""
    names = ["a", "b"]
    draws = NormalDraws([Luck(5).generator(name) for name in names], (10,))
    taken = np.stack([draws.take() for _ in range(200)])
    alone = NormalDraws([Luck(5).generator("b")], (10,))
    assert np.array_equal(np.stack([alone.take() for _ in range(200)])[:, 0], taken[:, 1])
    assert stats.kstest(taken[:, 0].ravel(), "norm").pvalue > 0.001


def test_another_performer_changes_nobody_elses_luck() -> None:
    first = receiver_text("rack-1", channel_text("p1", talk=0.8))
    second = receiver_text("rack-2", channel_text("p2", 522_000_000, talk=0.8))
    wires = []
    for stage in (scenario(first), scenario(first, second), scenario(second, first)):
        desk = Desk(fleet_of(stage), "rack-1").enter()
        desk.advance(8.0)
        wires.append(desk.wire)
    assert wires[0] == wires[1] == wires[2]
