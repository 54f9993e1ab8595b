"""The ways from packs to antennas, by hand and by published values."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.luck import Luck
from simulator.paths import Paths
from simulator.scenario import decode
from simulator.scenario_checks import checked
from simulator.venue import NEAREST_M
from tests.simulator.small_stage import STAGE, channel_text, receiver_text
from tests.simulator.still import still

LEFT = np.array([0])
WALL = """
[[wall]]
name = "Flat"
points = [[-10, 5], [10, 5], [10, 30]]
loss_db = 7.0
"""


def _paths(more: str = "", shadow_db: float = 0.0, seed: int = 1) -> Paths:
    text = STAGE.replace("maximum_m = [150.0, 50.0]", f"maximum_m = [150.0, 50.0]\nshadow_db = {shadow_db}")
    text += receiver_text("rack-1", channel_text("p1")) + more
    return Paths(checked("stage.toml", decode("stage.toml", text)), Luck(seed))


def test_distances_are_euclids() -> None:
    """Antennas stand at (-5, 0, 3) and (5, 0, 3): 3-4-5 and 6-8-10 triangles by hand."""
    found = _paths().distances_m(np.array([0, 1]), np.array([[-5.0, 4.0, 0.0], [11.0, 8.0, 3.0]]))
    assert found == pytest.approx([5.0, 10.0])


def test_nobody_gets_into_the_near_field() -> None:
    assert _paths().distances_m(LEFT, np.array([[-5.0, 0.0, 3.0]])) == NEAREST_M


def test_the_open_way_takes_what_free_space_takes() -> None:
    """ITU-R P.525: 46.427 dB over 10 m at 500 MHz."""
    gain = _paths().open_gain_db(LEFT, np.array([[-5.0, 10.0, 3.0]]), np.array([500e6]))
    assert gain[0] == pytest.approx(-46.427, abs=0.005)


def test_indoors_the_way_takes_what_the_named_environment_takes() -> None:
    """P.1238-11 worked by hand: 60.59 dB over 30 m at 0.6 GHz in an office out of sight."""
    stage = STAGE.replace("minimum_m = [-50.0", 'indoor = "office out of sight"\nminimum_m = [-50.0')
    paths = Paths(decode("stage.toml", stage + receiver_text("rack-1", channel_text("p1"))), Luck(1))
    gain = paths.open_gain_db(LEFT, np.array([[-5.0, 30.0, 3.0]]), np.array([600e6]))
    assert gain[0] == pytest.approx(-60.59, abs=0.01)


@pytest.mark.parametrize(
    ("place", "walls"), [((-5.0, 4.0), 0), ((-5.0, 10.0), 1), ((40.0, 20.0), 2), ((20.0, 6.0), 0), ((-20.0, 10.0), 0)]
)
def test_each_wall_that_is_crossed_takes_its_loss(place: tuple[float, float], walls: int) -> None:
    """Seen from above, from an antenna at (-5, 0): crossings counted on squared paper."""
    found = _paths(WALL).obstacles_db(LEFT, np.array([[*place, 1.3]]))
    assert found[0] == pytest.approx(7.0 * walls)


def test_shadows_are_the_same_at_the_same_place_and_others_at_another_antenna() -> None:
    places = np.column_stack([np.linspace(-20.0, 20.0, 200), np.full(200, 10.0), np.full(200, 1.3)])
    paths = _paths(shadow_db=4.0)
    left = paths.obstacles_db(np.zeros(200, dtype=np.intp), places)
    right = paths.obstacles_db(np.ones(200, dtype=np.intp), places)
    assert np.array_equal(left, paths.obstacles_db(np.zeros(200, dtype=np.intp), places))
    assert 1.0 < left.std() < 7.0
    assert abs(np.corrcoef(left, right)[0, 1]) < 0.6
    assert not np.array_equal(left, _paths(shadow_db=4.0, seed=2).obstacles_db(np.zeros(200, dtype=np.intp), places))


@pytest.mark.parametrize(("heading_deg", "loss_db"), [(-90.0, 5.0), (90.0, 15.0), (0.0, 10.0), (180.0, 10.0)])
def test_a_body_takes_least_in_front_and_most_behind(heading_deg: float, loss_db: float) -> None:
    """The stated assumption, by hand: a third of 15 dB towards the face, all of it behind, half-way between beside."""
    emission = still([[-5.0, 10.0, 1.3]], heading_deg=heading_deg, behind_db=15.0)
    found = _paths().body_db(LEFT, np.array([0]), emission)
    assert found[0] == pytest.approx(loss_db)
