"""A small stage for plans: packs crowded in the wings beside the antenna, packs out on stage, at any frequencies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simulator.meters import Meters
from simulator.scenario import decode
from simulator.scenario_checks import checked
from simulator.world import BLOCK_US, World

Place = tuple[float, float]
SETTLE_BLOCKS = 20
HEIGHT_M = 1.3  # That of antennas and packs alike, so that distances are those on the ground.
_CHANNELS = 8
_STAGE = """
name = "A stage for plans"
[venue]
minimum_m = [-60.0, -60.0]
maximum_m = [60.0, 60.0]
[[zone]]
name = "House"
rician_k_db = {k_db}
rumble_dbfs = -80.0
[[antenna]]
name = "House left"
position_m = [0.0, 0.0, {height}]
"""
_WALK = """
[[walk]]
name = "{pack}"
points = [[0, {x}, {y}]]
"""
_RECEIVER = """
[[receiver]]
id = "rack-{number}"
zone = "House"
form = "receiver"
analog = {analog}
antennas = {{ a = "House left" }}
rf_power_steps_mw = [{steps}]
"""
_CHANNEL = """
[[receiver.channel]]
part = "{pack}"
pack = "{pack}"
frequency_hz = {hz}
walk = "{pack}"
rf_power_mw = {mw}
body_loss_db = 0.0
talk = 0.0
"""


@dataclass(frozen=True, slots=True)
class Worn:
    """A pack at a place, its power as e.r.p."""

    pack: str
    frequency_hz: int
    place_m: Place
    erp_mw: float


def around(count: int, radius_m: float) -> list[Place]:
    """Places on a circle about the antenna."""
    turns = [2.0 * math.pi * number / count for number in range(count)]
    return [(radius_m * math.cos(turn), radius_m * math.sin(turn)) for turn in turns]


def world_of(packs: list[Worn], seed: int, *, k_db: float = 10.0, analog: bool = False) -> World:
    """The world of one seed with these packs, each linked to a channel of its own, in their order."""
    text = _STAGE.format(k_db=k_db, height=HEIGHT_M)
    text += "".join(_WALK.format(pack=each.pack, x=each.place_m[0], y=each.place_m[1]) for each in packs)
    steps = ", ".join(str(each) for each in sorted({each.erp_mw for each in packs}))
    for number in range(0, len(packs), _CHANNELS):
        text += _RECEIVER.format(number=number // _CHANNELS + 1, analog=str(analog).lower(), steps=steps)
        for each in packs[number : number + _CHANNELS]:
            text += _CHANNEL.format(pack=each.pack, hz=each.frequency_hz, mw=each.erp_mw)
    return World(checked("stage.toml", decode("stage.toml", text)), seed)


def frames(world: World, seconds: float) -> list[Meters]:
    """What the meters show block by block from two seconds on, when everything has settled."""
    last = world.blocks_done + SETTLE_BLOCKS + round(10 * seconds)
    first = world.blocks_done + SETTLE_BLOCKS
    found = []
    for block in range(first, last):
        world.advance((block + 1) * BLOCK_US)
        found.append(world.meters(block - 1))
    return found


def audio_intact(found: list[Meters]) -> np.ndarray:
    """The share of each channel's sound that came through whole, [channels]."""
    return np.asarray(1.0 - np.mean([each.damage for each in found], axis=0))


def link_quality(found: list[Meters]) -> np.ndarray:
    """The share of each link's frames that arrived intact, [channels]."""
    return np.asarray(np.mean([each.link_quality for each in found], axis=0))
