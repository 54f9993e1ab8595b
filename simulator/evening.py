"""What runs: a scenario with its script, or a situation on its stage, which begins at its onset."""

from __future__ import annotations

from fleet.errors import InvalidDocument, RedpollError
from simulator.live_faults import ALL_ACTS, Throw, planned
from simulator.play import Play, play_of
from simulator.scenario import Scenario
from simulator.scenario_checks import load
from simulator.situation import Situation, load_situation, situation_names
from simulator.step import Step
from simulator.virtual_fleet import VirtualFleet

_US = 1_000_000
SCRIPT = "script"


def open_fleet(name_or_file: str, seed: int) -> VirtualFleet:
    """The virtual fleet of a scenario that comes with the simulator or from a file, or of one of its situations.

    Raises InvalidDocument with file, key and what was expected, NotFound or InvalidRequest for a wrong target.
    """
    if name_or_file in situation_names():
        return _situation_fleet(name_or_file, load_situation(name_or_file), seed)
    return scripted_fleet(name_or_file, load(name_or_file), seed)


def _situation_fleet(name: str, situation: Situation, seed: int) -> VirtualFleet:
    fleet = scripted_fleet(situation.stage, load(situation.stage), seed)
    play = play_of(fleet, situation)
    play.schedule(situation.script, round(situation.onset_s * _US))
    fleet.plays[name] = play
    return fleet


def scripted_fleet(file: str, scenario: Scenario, seed: int) -> VirtualFleet:
    """The virtual fleet of a scenario whose script waits for its times.

    Raises InvalidDocument, with the key of the step, for what can't be done here.
    """
    fleet = VirtualFleet(scenario, seed)
    if scenario.script:
        play = Play(fleet, {}, ALL_ACTS)
        for index, step in enumerate(scenario.script):
            _check(file, f"script[{index}]", step, play)
        play.schedule(scenario.script, 0)
        fleet.plays[SCRIPT] = play
    return fleet


def _check(file: str, key: str, step: Step, play: Play) -> None:
    if not step.is_whole:
        raise InvalidDocument(file, key, "either an act or a write", f"act {step.act!r}, write {step.write!r}")
    if step.after_s < 0:
        raise InvalidDocument(file, f"{key}.after_s", "seconds from the start on", step.after_s)
    try:
        play.check([step])
        asked = play.asked(step) if step.act else None
        if isinstance(asked, Throw):
            planned(play.fleet, asked, 0)
    except RedpollError as error:
        raise InvalidDocument(file, key, "what can be done in this scenario", str(error)) from error
