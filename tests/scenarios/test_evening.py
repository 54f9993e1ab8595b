"""A whole evening of cues in four minutes of virtual time, with an interval asleep, over the whole console."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fleet.errors import ValueRefused
from fleet.model.inputs import ShowClock
from fleet.model.production import Production
from fleet.model.running_order import Cue, Practice, RunningOrder, ShowAct, Sleep
from fleet.model.show import ShowPhase, ShowStep
from tests.scenarios.whole_console import WholeConsole, evening, restarted

ORDER = RunningOrder(
    (ShowAct("one", "Act I"), ShowAct("two", "Act II")),
    (
        Cue("lamp", "The lamp is lit", "one", 0, 20, (1, 2)),
        Cue("wager", "The pilot's wager", "one", 20, 20, (3, 5)),
        Cue("interval", "Interval", "one", 40, 90),
        Cue("fog", "Fog", "two", 130, 20, (1, 3, 16)),
    ),
    (Sleep("rest", (1, 2), "interval", "fog"),),
)
LEAD_MIN = 1


async def short_evening(console: WholeConsole) -> None:
    """Put the short running order in place, as an engineer would."""

    def shortened(production: Production) -> Production:
        return replace(production, order=ORDER, practice=Practice(wake_lead_min=LEAD_MIN))

    _, revision = console.runtime.editor.production()
    await console.runtime.editor.change_production("Engineer", revision, shortened)


async def step(console: WholeConsole, what: ShowStep, *, trigger: str = "", cue_id: str | None = None) -> None:
    runtime = console.runtime
    seen = None if trigger else runtime.ahead().show.revision
    await runtime.move_show(ShowClock(runtime.now(), "Operator", what, cue_id, seen, trigger))


def place(console: WholeConsole) -> str | None:
    return console.runtime.ahead().show.cue_id


def moves(console: WholeConsole) -> list[dict[str, Any]]:
    return [event for event in console.screen.events if event["kind"] == "show moved"]


def states_by_rule(console: WholeConsole, rule_id: str) -> list[tuple[str, str]]:
    return [(alarm["address"], alarm["state"]) for alarm in console.screen.alarms_of(rule_id)]


@evening
async def test_an_evening_of_cues_with_an_interval_asleep(console: WholeConsole) -> None:
    await short_evening(console)
    await step(console, ShowStep.ADVANCE)
    await console.pass_time(20.0)
    await step(console, ShowStep.ADVANCE, trigger="desk-1")
    await step(console, ShowStep.ADVANCE, trigger="desk-1")
    assert place(console) == "wager", "a repeated trigger moves once"
    await console.pass_time(20.0)
    await step(console, ShowStep.ADVANCE)
    for pack in ("pack/k01", "pack/k02"):
        console.fault("turn_panel", address=pack, changes={"standby": True})
    await console.pass_time(20.0)
    rests = console.runtime.ahead().rests
    assert [(rest.number, rest.phase.value, rest.confirmed) for rest in rests] == [
        (1, "resting", True),
        (2, "resting", True),
    ]
    assert console.screen.matters == [], "packs asleep by plan are no alarm"
    await console.pass_time(9.0)
    assert states_by_rule(console, "wake-overdue") == []
    console.fault("turn_panel", address="pack/k01", changes={"standby": False})
    await console.pass_time(8.0)
    overdue = {address for address, _ in states_by_rule(console, "wake-overdue")}
    assert "pack/k02" in overdue, "the wake was due a minute before the fog"
    assert console.screen.alarm_states("wake-overdue:pack/k01") in ([], ["unacknowledged", "returned unacknowledged"])
    console.fault("turn_panel", address="pack/k02", changes={"standby": False})
    await console.pass_time(10.0)
    assert console.screen.alarm_states("wake-overdue:pack/k02") == ["unacknowledged", "returned unacknowledged"]
    await step(console, ShowStep.ADVANCE)
    assert console.runtime.ahead().on_air == (1, 3, 16)
    await step(console, ShowStep.ADVANCE)
    assert console.runtime.ahead().show.phase is ShowPhase.OVER
    await console.pass_time(1.0)
    assert [move["show"]["revision"] for move in moves(console)] == [1, 2, 3, 4, 5]


@evening
async def test_an_alarm_weighs_what_the_cue_makes_of_its_row(console: WholeConsole) -> None:
    await short_evening(console)
    await step(console, ShowStep.ADVANCE)
    console.fault("silence", device_id="house-1")
    await console.pass_time(8.0)
    assert [alarm["priority"] for alarm in console.screen.alarms_of("contact-lost")] == [2], "1 and 2 are on air"
    await step(console, ShowStep.ADVANCE)
    await console.pass_time(2.0)
    assert [alarm["priority"] for alarm in console.screen.alarms_of("contact-lost")][-1] == 3, "now nobody of it is"


@evening
async def test_the_running_cue_can_t_be_edited_away(console: WholeConsole) -> None:
    await short_evening(console)
    await step(console, ShowStep.ADVANCE)
    production, revision = console.runtime.editor.production()
    without = replace(production, order=RunningOrder())
    with pytest.raises(ValueRefused, match="is running"):
        await console.runtime.editor.change_production("Engineer", revision, lambda _: without)
    assert console.runtime.editor.production() == (production, revision)
    await step(console, ShowStep.RESET)
    await console.runtime.editor.change_production("Engineer", revision, lambda _: without)
    assert console.runtime.ahead().cues == ()


def test_a_restart_keeps_the_place_the_edits_and_the_triggers(tmp_path: Path) -> None:
    kept: list[Any] = []

    async def before(console: WholeConsole) -> None:
        await short_evening(console)
        await step(console, ShowStep.ADVANCE, trigger="desk-1")
        await step(console, ShowStep.JUMP, trigger="desk-2", cue_id="fog")
        kept.extend([console.runtime.ahead().show.started, console.runtime.editor.production()])

    async def after(console: WholeConsole) -> None:
        started, production = kept
        again = console.runtime.ahead().show.started
        assert again is not None
        assert (again.cue_id, again.at.utc_us) == ("fog", started.at.utc_us)
        assert console.runtime.editor.production() == production
        await step(console, ShowStep.JUMP, trigger="desk-2", cue_id="fog")
        assert console.runtime.ahead().show.revision == 2
        await console.pass_time(10.0)
        assert states_by_rule(console, "wake-overdue") == [], "packs that are awake confirm it before anybody is called"
        snapshot = json.loads(json.dumps(console.screen.snapshot))
        assert snapshot["ahead"]["show"]["started"]["cue_id"] == "fog"

    restarted(tmp_path, before, after)


@evening
async def test_cells_that_do_not_last_the_evening_are_an_alarm_and_low_ones_that_do_are_none(
    console: WholeConsole,
) -> None:
    await short_evening(console)
    await step(console, ShowStep.ADVANCE)
    for pack in ("pack/k01", "pack/k06"):  # Row 6 isn't in the running order: as low as it is, it lasts.
        console.fault("put_cells", pack=pack, cells="li-ion", charge=0.04)
    await console.pass_time(45.0)
    assert states_by_rule(console, "low-cells") == [("pack/k01", "unacknowledged")]
    assert states_by_rule(console, "cells-end") == []
    (short,) = [matter for matter in console.screen.matters if matter["cause"] == "low-cells"]
    assert short["rows"] == ["house-1/channel/1"]
    assert short["evidence"]["battery_minutes"] < short["evidence"]["needed_min"]
    console.fault("put_cells", pack="pack/k01", cells="li-ion", charge=1.0)
    await console.pass_time(45.0)
    assert states_by_rule(console, "low-cells")[-1] == ("pack/k01", "returned unacknowledged")
