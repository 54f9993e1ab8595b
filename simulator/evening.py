"""What runs: a scenario as it is, or a situation on its stage, which begins at its onset."""

from __future__ import annotations

from simulator.play import play_of
from simulator.scenario_checks import load
from simulator.situation import load_situation, situation_names
from simulator.virtual_fleet import VirtualFleet


def open_fleet(name_or_file: str, seed: int) -> VirtualFleet:
    """The virtual fleet of a scenario that comes with the simulator or from a file, or of one of its situations.

    Raises InvalidDocument with file, key and what was expected, NotFound or InvalidRequest for a wrong target.
    """
    if name_or_file not in situation_names():
        return VirtualFleet(load(name_or_file), seed)
    situation = load_situation(name_or_file)
    fleet = VirtualFleet(load(situation.stage), seed)
    play = play_of(fleet, situation)
    play.schedule(situation.script, round(situation.onset_s * 1_000_000))
    fleet.plays[name_or_file] = play
    return fleet
