"""The contract of adapters in its socket profile: the console's own adapter against a device as a process of its own.

The checks have the names that they have in ``tests.adapters.contract``, and no values of a device written into them.
What needs a device that misbehaves on demand stays with the fake one there.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

import pytest

from fleet.adapters.open_json import OpenJsonAdapter
from fleet.clock import LoopClock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed
from fleet.model.command import Command, CommandState
from fleet.model.device import ContactState
from fleet.model.fields import Value
from fleet.model.observation import Answer, Contact, Observation, SettingsReport
from fleet.model.settings import Cause
from tests.adapters.rig import Heard
from tests.adapters.way import connect_websocket
from tests.examples.subject import WITHIN_S, Subject, described


class Attentive(Heard):
    """A sink that wakes whoever waits for something to be heard."""

    def __init__(self) -> None:
        super().__init__()
        self._more = asyncio.Event()

    def __call__(self, item: Observation | Contact) -> None:
        super().__call__(item)
        self._more.set()

    async def until(self, true: Callable[[], bool]) -> None:
        async with asyncio.timeout(WITHIN_S):
            while not true():
                self._more.clear()
                await self._more.wait()

    @property
    def answers(self) -> list[Answer]:
        return [answer.answer for item in self.observations for answer in item.answers]


class Bench:
    """An adapter in contact with the device."""

    def __init__(self, subject: Subject, device_id: str) -> None:
        self.subject = subject
        self.device_id = device_id
        self.heard = Attentive()
        address = DeviceAddress(device_id, subject.url)
        self.adapter = OpenJsonAdapter(address, connect_websocket, LoopClock(0), self.heard)

    @property
    def pack(self) -> SettingsReport:
        """What was reported last of the pack."""
        return [report for report in self.heard.reports if report.address.startswith("pack/")][-1]

    def command(self, command_id: str, **changes: Value) -> Command:
        pack = self.pack
        state = CommandState.SENT
        return Command(command_id, pack.address, self.device_id, changes, pack.revision, "somebody", 0, state, 0)


@asynccontextmanager
async def benched(subject: Subject) -> AsyncIterator[Bench]:
    async with described(subject) as (_, device_id):
        bench = Bench(subject, device_id)
    await bench.adapter.connect()
    task = asyncio.create_task(bench.adapter.run(), name="run")
    try:
        yield bench
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        await bench.adapter.close()


async def introduces_the_device_first(bench: Bench) -> None:
    first = bench.heard.items[0]
    assert isinstance(first, Contact)
    assert first.state is ContactState.FRESH
    assert first.description is not None
    assert first.description.device_id == bench.device_id
    assert first.boot_id


async def reports_all_settings_complete(bench: Bench) -> None:
    async with described(bench.subject) as (console, device_id):
        read = (await console.ask("read", target=device_id))["result"]["settings"]
    said = {entry["address"]: (entry["revision"], entry["settings"]) for entry in read}
    reports = [report for report in bench.heard.reports if report.complete]
    assert {report.address: (report.revision, report.settings) for report in reports} == said


async def hands_readings_on(bench: Bench) -> None:
    await bench.heard.until(lambda: len(bench.heard.frames) > 0)
    frame = bench.heard.frames[0]
    assert frame.layout.cells[0] == (f"{bench.device_id}/carrier/1/branch/a", "rf_dbm")
    values = frame.values.reshape(-1, len(frame.layout.cells))[0]
    assert -160 < values[0] < 30
    assert values[1] != values[1], "absent is NaN, never zero"


async def hands_exact_readings_on(bench: Bench) -> None:
    exact = [item.exact for item in bench.heard.observations if item.exact]
    assert exact[0] == {f"{bench.device_id}/channel/1": {"identity": bench.pack.address}}


async def says_fresh_at_each_heartbeat_that_moved_on(bench: Bench) -> None:
    def fresh() -> list[ContactState]:
        return [contact.state for contact in bench.heard.contacts if contact.description is None]

    await bench.heard.until(lambda: len(fresh()) == 2)
    assert set(fresh()) == {ContactState.FRESH}


async def a_write_is_answered_and_reported(bench: Bench) -> None:
    await bench.adapter.write(bench.command("c-1", low_cut_hz=120))
    await bench.heard.until(lambda: Answer.DONE in bench.heard.answers)
    assert bench.heard.answers == [Answer.ACCEPTED, Answer.DONE]
    assert (bench.pack.settings, bench.pack.cause, bench.pack.command_id) == ({"low_cut_hz": 120}, Cause.COMMAND, "c-1")


async def a_refusal_carries_its_reason(bench: Bench) -> None:
    await bench.adapter.write(bench.command("c-2", low_cut_hz=170))
    await bench.heard.until(lambda: Answer.REFUSED in bench.heard.answers)
    answer = next(each for item in bench.heard.observations for each in item.answers)
    assert answer.command_id == "c-2"
    assert "low_cut_hz" in answer.reason


async def a_read_back_ends_with_its_address(bench: Bench) -> None:
    address = bench.pack.address
    await bench.adapter.read_back(address)
    await bench.heard.until(lambda: any(item.read_back == (address,) for item in bench.heard.observations))
    assert bench.pack.complete


async def a_panel_change_is_reported(bench: Bench) -> None:
    bench.subject.turn(50)
    await bench.heard.until(lambda: bench.pack.cause is Cause.PANEL)
    assert (bench.pack.settings, bench.pack.command_id) == ({"low_cut_hz": 50}, "")


async def after_the_end_every_call_fails_in_words(bench: Bench) -> None:
    command = bench.command("c-3", low_cut_hz=60)
    await bench.adapter.close()
    for call in (bench.adapter.write(command), bench.adapter.cancel(command), bench.adapter.read_back(command.target)):
        with pytest.raises(ContactFailed, match="not in contact"):
            await call


async def an_end_at_the_device_ends_the_run(bench: Bench) -> None:
    running = next(task for task in asyncio.all_tasks() if task.get_name() == "run")
    bench.subject.process.terminate()
    with pytest.raises(ContactFailed):
        async with asyncio.timeout(WITHIN_S):
            await running


CHECKS: tuple[Callable[[Bench], Awaitable[None]], ...] = (
    introduces_the_device_first,
    reports_all_settings_complete,
    hands_readings_on,
    hands_exact_readings_on,
    says_fresh_at_each_heartbeat_that_moved_on,
    a_write_is_answered_and_reported,
    a_refusal_carries_its_reason,
    a_read_back_ends_with_its_address,
    a_panel_change_is_reported,
    after_the_end_every_call_fails_in_words,
    an_end_at_the_device_ends_the_run,  # The last: it ends the device.
)
