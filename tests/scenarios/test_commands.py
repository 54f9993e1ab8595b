"""What is asked of a pack that sleeps, can't be reached, is turned by hand or dies: it ends as the pack itself is."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

from fleet.model.command import CommandState
from fleet.model.fields import GOODBYES
from fleet.model.inputs import RequestWrite
from fleet.model.quality import Quality
from tests.scenarios.whole_console import WholeConsole, evening, restarted

PACK = "pack/k05"
PACK_TABLE = 4


def low_cut_hz(console: WholeConsole) -> int:
    truth = cast("dict[str, dict[str, Any]]", console.fault("truth", address=PACK))
    return int(truth["settings"]["low_cut_hz"])


async def ask(console: WholeConsole, command_id: str, **changes: bool | int) -> None:
    revision = console.runtime.settings(PACK).revision
    await console.runtime.execute("Stage Left", RequestWrite(command_id, PACK, changes, revision))


@evening
async def test_a_write_to_a_sleeping_pack_waits_and_is_confirmed_when_it_wakes(console: WholeConsole) -> None:
    await ask(console, "sleep", standby=True)
    await console.pass_time(4.0)
    await ask(console, "cut", low_cut_hz=120)
    await console.pass_time(20.0)
    assert console.runtime.command("cut").state is CommandState.WAITING_FOR_WAKE
    assert low_cut_hz(console) == 80
    await ask(console, "wake", standby=False)
    await console.pass_time(8.0)
    assert console.runtime.command("cut").state is CommandState.CONFIRMED
    assert low_cut_hz(console) == 120


def test_after_a_restart_nothing_is_called_not_applied_that_still_waits(tmp_path: Path) -> None:
    async def before(console: WholeConsole) -> None:
        await ask(console, "sleep", standby=True)
        await console.pass_time(4.0)
        await ask(console, "cut", low_cut_hz=120)
        await console.pass_time(2.0)

    async def after(console: WholeConsole) -> None:
        await console.pass_time(30.0)
        assert console.runtime.command("cut").state is CommandState.UNKNOWN, "the receiver still holds it"
        await ask(console, "wake", standby=False)
        await console.pass_time(8.0)
        assert low_cut_hz(console) == 120
        assert console.runtime.command("cut").state is CommandState.CONFIRMED

    restarted(tmp_path, before, after)


def test_what_a_receiver_remembers_of_a_pack_that_it_cannot_reach_confirms_nothing(tmp_path: Path) -> None:
    async def before(console: WholeConsole) -> None:
        console.fault("drop_return_link", pack=PACK)
        console.fault("turn_panel", address=PACK, changes={"low_cut_hz": 120})
        await ask(console, "cut", low_cut_hz=80)
        await console.pass_time(6.0)
        assert console.runtime.settings(PACK).reported["low_cut_hz"] == 80, "the receiver knows no better"
        assert console.runtime.command("cut").state is CommandState.UNKNOWN

    async def after(console: WholeConsole) -> None:
        await console.pass_time(20.0)
        assert console.runtime.command("cut").state is CommandState.UNKNOWN
        assert console.runtime.settings(PACK).quality is Quality.UNCERTAIN
        console.fault("restore_return_link", pack=PACK)
        await console.pass_time(20.0)
        assert low_cut_hz(console) == 120
        assert console.runtime.command("cut").state is CommandState.NOT_APPLIED
        assert console.runtime.settings(PACK).quality is Quality.GOOD

    restarted(tmp_path, before, after)


@evening
async def test_a_pack_turned_while_a_write_waited_for_it_keeps_what_its_wearer_set(console: WholeConsole) -> None:
    await ask(console, "sleep", standby=True)
    await console.pass_time(4.0)
    await ask(console, "cut", low_cut_hz=120)
    await console.pass_time(4.0)
    console.fault("turn_panel", address=PACK, changes={"standby": False, "low_cut_hz": 40})
    await console.pass_time(8.0)
    assert low_cut_hz(console) == 40
    assert console.runtime.command("cut").state is CommandState.REFUSED
    assert console.runtime.settings(PACK).reported["low_cut_hz"] == 40


@evening
async def test_dead_cells_say_goodbye_on_the_screen_and_nothing_else_of_the_pack_looks_good(
    console: WholeConsole,
) -> None:
    console.fault("kill_cells", pack=PACK)
    await console.pass_time(5.0)
    assert console.screen.reading(PACK_TABLE, PACK, "goodbye") == (GOODBYES.index("cells"), Quality.GOOD)
    assert console.screen.reading(PACK_TABLE, PACK, "battery_minutes") == (0.0, Quality.UNCERTAIN)


@evening
async def test_settings_that_are_changed_quickly_are_never_refused_as_busy(console: WholeConsole) -> None:
    for number, low_cut in enumerate((40, 80, 120, 40)):
        await ask(console, f"cut-{number}", low_cut_hz=low_cut)
        await console.pass_time(0.3)
    await console.pass_time(4.0)
    states = [console.runtime.command(f"cut-{number}").state for number in range(4)]
    assert states[-1] is CommandState.CONFIRMED
    assert set(states) == {CommandState.CONFIRMED, CommandState.SUPERSEDED}
    assert low_cut_hz(console) == 40
