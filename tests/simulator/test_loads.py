"""What stands on the air at an antenna, as a scan shows it, and when."""

from __future__ import annotations

import numpy as np
import pytest

from simulator.scenario import decode
from simulator.scenario_checks import checked
from simulator.sweep import Span, Sweep
from simulator.world import World
from tests.simulator.small_stage import STAGE, channel_text, receiver_text

NEIGHBOUR = """
[[stranger]]
name = "Next door"
frequency_hz = 530_000_000
position_m = [50.0, 0.0, 3.0]
on_s = 2.0
off_s = 4.0
"""


def _world(more: str = "", *channels: str) -> World:
    own = channels or (channel_text("p1"),)
    text = STAGE + receiver_text("rack-1", *own) + more
    if more == "@indoor":
        text = STAGE.replace("[venue]", '[venue]\nindoor = "cave"') + receiver_text("rack-1", *own)
    return World(checked("stage.toml", decode("stage.toml", text)), 3)


def _levels(world: World, start_hz: int, step_hz: int, points: int) -> list[float]:
    found = Sweep(world, Span(start_hz, step_hz, points, 25_000), 0, -105.0).levels(1.0)
    assert found is not None
    return [float(level or 0.0) for level in found.levels_dbm]


def test_a_neighbour_comes_on_and_goes_off_at_its_times() -> None:
    world = _world(NEIGHBOUR)
    heard = []
    for second in range(6):
        world.advance(round(second * 1e6))
        heard.append(_levels(world, 530_000_000, 25_000, 1)[0] > -90.0)
    assert heard == [False, False, True, True, False, False]


def test_a_scan_shows_floor_carriers_and_their_products() -> None:
    """Two packs of 10 mW at 2 m: 12.15 - 32.79 dBm each (ITU-R P.525); 2A-B stands at 522, by 3 P - 2 IIP3.

    A point of 25 kHz shows a quarter of a signal of 100 kHz.
    """
    near = '[[walk]]\nname = "Near"\npoints = [[0, -5, 2]]\n'
    packs = [channel_text(f"p{n}", 520_000_000 + n * 1_000_000, walk="Near") for n in range(2)]
    world = _world(near, *(text + "body_loss_db = 0.0\nheight_m = 3.0\n" for text in packs))
    world.advance(200_000)
    levels = _levels(world, 519_000_000, 1_000_000, 5)
    each_dbm = 12.15 - 32.79
    quarter_db = 10.0 * np.log10(0.25)
    assert levels[1:3] == pytest.approx([each_dbm + quarter_db] * 2, abs=0.1)
    assert levels[3] == pytest.approx(3.0 * each_dbm + 15.0 + quarter_db, abs=0.2)
    assert levels[4] == pytest.approx(-105.0 + 10.0 * np.log10(25 / 200), abs=0.1)


def test_all_points_of_a_scan_together_show_a_signal_once() -> None:
    world = _world("", channel_text("p1") + "body_loss_db = 0.0\n")
    world.advance(200_000)
    levels = np.array(_levels(world, 519_800_000, 25_000, 17))
    total_dbm = 10.0 * np.log10(np.sum(10.0 ** (levels / 10.0)))
    assert total_dbm == pytest.approx(10.0 * np.log10(world.loads.levels_mw(0, world.emission)[0]), abs=0.1)


def test_a_scan_behind_an_open_feed_shows_the_scanners_own_noise() -> None:
    """-115 dBm in 200 kHz is -124.03 in 25."""
    world = _world()
    world.feeds.by_antenna["Left"].fault = "open"
    world.touch()
    world.advance(200_000)
    assert _levels(world, 520_000_000, 25_000, 1) == pytest.approx([-124.0], abs=0.1)


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ('[[wall]]\nname = "Far"\npoints = [[0, 0], [0, 900]]\nloss_db = 3.0\n', "wall[0].points[1]"),
        ("@indoor", "venue.indoor"),
        (NEIGHBOUR.replace("off_s = 4.0", "off_s = 2.0"), "stranger[0].off_s"),
    ],
)
def test_what_cannot_be_is_refused(more: str, key: str) -> None:
    with pytest.raises(Exception, match=key.replace("[", r"\[").replace("]", r"\]")):
        _world(more)
