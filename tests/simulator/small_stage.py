"""Small scenarios for tests."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simulator.scenario import Scenario, decode
from simulator.scenario_checks import checked
from simulator.virtual_fleet import VirtualFleet
from simulator.world import BLOCK_US

STAGE = """
name = "A small stage"

[venue]
minimum_m = [-50.0, -50.0]
maximum_m = [150.0, 50.0]

[[zone]]
name = "Stage"

[[antenna]]
name = "Left"
position_m = [-5.0, 0.0, 3.0]

[[antenna]]
name = "Right"
position_m = [5.0, 0.0, 3.0]

[[walk]]
name = "Round"
points = [[0, -5, 10], [10, 5, 10], [20, 5, 16], [30, -5, 10]]

[[walk]]
name = "Far"
points = [[0, 120, 0], [60, 121, 0]]
"""

RECEIVER = """
[[receiver]]
id = "{id}"
zone = "Stage"
form = "receiver"
antennas = {{ a = "Left", b = "Right" }}
analog = {analog}
"""

CHANNEL = """
[[receiver.channel]]
part = "{part}"
pack = "{pack}"
frequency_hz = {frequency_hz}
walk = "{walk}"
talk = {talk}
cells = "{cells}"
"""


def receiver_text(device_id: str, *channels: str, analog: bool = False) -> str:
    """A receiver with channels made by ``channel_text``."""
    return RECEIVER.format(id=device_id, analog="true" if analog else "false") + "".join(channels)


def channel_text(
    pack: str, frequency_hz: int = 520_000_000, *, walk: str = "Round", talk: float = 0.0, cells: str = "li-ion"
) -> str:
    """A channel; silent unless it is told to talk."""
    return CHANNEL.format(part=pack, pack=pack, frequency_hz=frequency_hz, walk=walk, talk=talk, cells=cells)


def scenario(*receivers: str) -> Scenario:
    """A scenario on the small stage."""
    return checked("small-stage.toml", decode("small-stage.toml", STAGE + "".join(receivers)))


def two_channels() -> Scenario:
    """One digital receiver, two silent packs 1 MHz apart."""
    return scenario(receiver_text("rack-1", channel_text("p1"), channel_text("p2", 521_000_000)))


def fleet_of(stage: Scenario, seed: int = 7) -> VirtualFleet:
    """A virtual fleet; says its seed, so that a failure can be repeated."""
    print(f"seed {seed}")
    return VirtualFleet(stage, seed)


def watch(fleet: VirtualFleet, seconds: float) -> dict[str, NDArray[np.float64]]:
    """What the meters show while that much time passes: by name, [blocks, rows] or [blocks, rows, branches]."""
    shown = []
    for _ in range(round(seconds * 10)):
        done = fleet.world.blocks_done
        fleet.world.advance((done + 1) * BLOCK_US)
        shown.append(fleet.world.meters(done - 1))
    names = ("rf_dbm", "rf_min_dbm", "rf_max_dbm", "floor_dbm", "peak_dbfs", "rms_dbfs", "damage", "link_quality")
    return {name: np.array([getattr(meters, name) for meters in shown]) for name in names}
