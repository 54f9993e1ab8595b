"""A change asked for while its pack sleeps and the console is started again: it ends as the pack itself is."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

from fleet.model.command import CommandState
from fleet.model.inputs import RequestWrite
from tests.scenarios.whole_console import WholeConsole, evening, restarted

PACK = "pack/k05"


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
