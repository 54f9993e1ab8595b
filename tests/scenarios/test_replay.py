"""A recording stands for a device in a console: it looks simulated, can't be set, and is missed when it ends."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from api.compose.console import console_plan
from api.compose.ways_out import ways_out
from fleet.clock import LoopClock
from fleet.config import read_configuration
from fleet.errors import InvalidRequest
from fleet.journal.writer import InlineWriter
from fleet.model.address import Place
from fleet.model.device import ContactState
from fleet.model.inputs import RequestWrite
from fleet.runtime import Runtime
from tests.adapters.fake_device import PACK
from tests.adapters.tape import record
from tests.virtual_time import run_virtual

EVENING_UTC_US = 1_900_000_000_000_000


class HeldUpClock(LoopClock):
    """The loop's time, and what a loop that was held up would have missed of the real one."""

    held_up_us = 0

    def monotonic_us(self) -> int:
        return super().monotonic_us() + self.held_up_us


def test_a_recording_stands_for_a_device(tmp_path: Path) -> None:
    async def main() -> None:
        await record(tmp_path / "quay-1.jsonl")
        file = tmp_path / "console.toml"
        file.write_text('database = "a.sqlite3"\n[[device]]\nid = "quay-1"\nurl = "replay:quay-1.jsonl"\n')
        clock = HeldUpClock(EVENING_UTC_US)
        configuration = read_configuration(file)
        with ways_out(configuration) as ways:
            plan = replace(console_plan(configuration, None, clock, ways), make_writer=InlineWriter)
        runtime = await Runtime.start(plan, clock)
        try:
            await clock.sleep(4.2)
            await see_it_play(runtime)
            see_what_is_counted(runtime)
            clock.held_up_us = 1_500_000
            await clock.sleep(0.2)
            assert runtime.vitals().loop_lag_worst_s == pytest.approx(1.5, abs=0.1)
            await clock.sleep(10.0)
            view = runtime.devices()[0]
            assert view.contact.state is ContactState.LOST
            assert "the recording has ended" in view.contact.reason
            assert "contact-lost:quay-1" in [alarm.alarm_id for alarm in runtime.alarms()]
        finally:
            await runtime.stop()

    run_virtual(main())


async def see_it_play(runtime: Runtime) -> None:
    view = runtime.devices()[0]
    assert view.contact.state is ContactState.FRESH
    assert view.description is not None
    assert view.description.simulated
    assert view.description.form.startswith("replay")
    settings = runtime.settings(PACK)
    assert settings.reported == {"low_cut_hz": 80, "name": "Fiddler"}
    assert "quay-1/carrier/1/branch/a" in runtime.table(Place.BRANCH).addresses
    with pytest.raises(InvalidRequest, match="the device allows reading only"):
        await runtime.execute("somebody", RequestWrite("c-1", PACK, {"low_cut_hz": 40}, settings.revision))


def see_what_is_counted(runtime: Runtime) -> None:
    vitals = runtime.vitals()
    traffic = vitals.devices[0]
    assert (traffic.device_id, traffic.frames, traffic.heartbeats) == ("quay-1", 1, 3)
    assert traffic.observations >= 2
    assert traffic.frame_age_s == 0.0
    assert 40 <= vitals.ticks <= 43
    assert vitals.loop_lag_worst_s < 0.001
    assert vitals.commits > 0
    assert (vitals.commit_failures, vitals.batches_pending, vitals.commands_handing_on) == (0, 0, 0)
