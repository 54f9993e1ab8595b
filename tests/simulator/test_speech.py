"""Lines that are planned, silence in between; and voices that go with bodies, not with packs."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fleet.errors import InvalidDocument
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario, watch

LINES = "speaks = [[2, 6], [10, 12]]\nspeaks_every_s = 20\n"
OTHER = "speaks = [[14, 18]]\nspeaks_every_s = 20\n"


def _stage(first: str = LINES, second: str = OTHER) -> VirtualFleet:
    channels = [channel_text("p1") + first, channel_text("p2", 521_000_000) + second]
    return fleet_of(scenario(receiver_text("rack-1", *channels)))


def _speaking(fleet: VirtualFleet, seconds: float) -> NDArray[np.bool_]:
    """Whether each row speaks in each second, [seconds, rows]."""
    peaks = watch(fleet, seconds)["peak_dbfs"]
    return np.asarray((peaks > -45.0).reshape(-1, 10, 2).any(axis=1))


def test_a_part_speaks_in_its_lines_and_again_in_the_next_round() -> None:
    spoken = np.flatnonzero(_speaking(_stage(), 40.0)[:, 0])
    assert spoken.tolist() == [2, 3, 4, 5, 10, 11, 22, 23, 24, 25, 30, 31]


def test_without_a_round_it_is_over_when_it_is_over() -> None:
    fleet = _stage(LINES.replace("speaks_every_s = 20\n", ""))
    assert np.flatnonzero(_speaking(fleet, 40.0)[:, 0]).tolist() == [2, 3, 4, 5, 10, 11]


def test_swapped_packs_carry_the_other_voice_and_swapping_again_takes_it_back() -> None:
    plain, swapped = _stage(), _stage()
    swapped.world.swap_packs(0, 1)
    assert np.array_equal(_speaking(plain, 20.0), _speaking(swapped, 20.0)[:, ::-1])
    swapped.world.swap_packs(0, 1)
    assert np.array_equal(_speaking(plain, 20.0), _speaking(swapped, 20.0))


def test_swapped_packs_are_where_the_other_wearer_is() -> None:
    far = channel_text("p2", 521_000_000, walk="Far")
    fleet = fleet_of(scenario(receiver_text("rack-1", channel_text("p1"), far)))
    before = [fleet.world.position_m(seat) for seat in (0, 1)]
    fleet.world.swap_packs(0, 1)
    fleet.world.advance(100_000)
    assert [fleet.world.position_m(seat) for seat in (1, 0)] == before


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ("speaks = [[6, 2]]\n", "speaks[0]"),
        ("speaks = [[2, 6], [5, 8]]\n", "speaks[1]"),
        ("speaks = [[2, 6]]\nspeaks_every_s = 5\n", "speaks_every_s"),
    ],
)
def test_lines_that_cannot_be_are_refused(lines: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        _stage(lines)
    assert f"receiver[0].channel[0].{key}" in str(caught.value)
