"""What runs: scenarios with their scripts, checked before anything starts."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleet.errors import InvalidDocument
from simulator.evening import open_fleet
from simulator.fault_shapes import Nothing
from simulator.live_faults import thrown
from simulator.scenario import load_text
from simulator.virtual_fleet import VirtualFleet

SEED = 4
SCRIPT = """
[[script]]
after_s = 2
act = "throw"
params = { situation = "13-wrong-key", "on.channel" = "house-1/channel/2", lasts_s = 3 }

[[script]]
after_s = 1
act = "turn_panel"
params = { address = "pack/k01", "changes.standby" = true }

[[script]]
after_s = 4
write = "pack/k01"
params = { standby = false }
"""


def _written(folder: Path, script: str) -> str:
    file = folder / "evening.toml"
    file.write_text(load_text("stage-table")[1] + script)
    return str(file)


def _state_at(fleet: VirtualFleet, from_s: float, until_s: float) -> tuple[object, bool]:
    """Whether the first pack sleeps, and whether the second one has its channel's key."""
    for tenth in range(round(from_s * 10) + 1, round(until_s * 10) + 1):
        fleet.advance(tenth * 100_000)
    world = fleet.world
    return world.packs[0].settings["standby"], world.packs[1].key == world.fronts[1].key


def test_an_evening_is_written_with_acts_writes_and_situations(tmp_path: Path) -> None:
    fleet = open_fleet(_written(tmp_path, SCRIPT), SEED)
    assert _state_at(fleet, 0.0, 0.9) == (False, True)
    assert _state_at(fleet, 0.9, 1.9) == (True, True)
    assert _state_at(fleet, 1.9, 2.5) == (True, False)
    assert _state_at(fleet, 2.5, 4.9) == (True, False)  # it takes a second to be woken
    assert _state_at(fleet, 4.9, 5.5) == (False, True)
    assert thrown(fleet, Nothing(), 5_500_000) == {"script": {"situation": "script", "on": {}, "problems": []}}


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("pack/k01", "pack/k09", "script[1]"),
        ("13-wrong-key", "99-nothing", "script[0]"),
        ("house-1/channel/2", "house-9/channel/2", "script[0]"),
        ("after_s = 1", "after_s = -1", "script[1].after_s"),
        ('act = "turn_panel"\n', "", "script[1]"),
        ("after_s = 4", "after_s = 4\nvolume = 2", "script[2].volume"),
    ],
)
def test_a_script_that_cannot_be_is_refused_with_its_key(tmp_path: Path, old: str, new: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        open_fleet(_written(tmp_path, SCRIPT.replace(old, new)), SEED)
    assert f"evening.toml: {key}: " in str(caught.value)
