"""The list of devices in a console that runs: edits take effect at once, are durable, and touch nothing else."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fleet.errors import LimitReached, NotFound, RevisionStale, ValueRefused
from fleet.model.address import Place
from fleet.model.device import ContactState, Origin
from fleet.model.device_list import (
    Announced,
    DeviceList,
    Expects,
    Given,
    ListedDevice,
    ListEdit,
    Looked,
    LookedDevice,
    Standing,
)
from fleet.model.event import ContactChanged, DocumentApplied
from fleet.model.observation import Contact
from fleet.model.quality import Quality
from fleet.reach import Reach
from fleet.roster import LOOKS_PER_MINUTE, NoSurroundings
from tests.console import DEVICE, Started, plan_for, started
from tests.virtual_time import run_virtual

SEEDED = "ws://127.0.0.1:20001"
QUAY = ListedDevice("quay-9", "ws://127.0.0.1:20009/", "Quay rack")


class Around(NoSurroundings):
    """Surroundings in which a test says who is where."""

    reach = Reach()
    on = True
    reason = ""

    def __init__(self) -> None:
        self.there: dict[str, str] = {}
        self.heard: tuple[Announced, ...] = ()

    def announced(self) -> tuple[Announced, ...]:
        return self.heard

    async def look(self, url: str, _token: str) -> Looked:
        device_id = self.there.get(url)
        if device_id is None:
            return Looked(url, False, "connection refused", "", ())
        return Looked(url, True, "", "1.0", (LookedDevice(device_id, "receiver", "", True, False, 2),))


def virtual(test: Callable[[str], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    def run(tmp_path: Path) -> None:
        run_virtual(test(f"sqlite:///{tmp_path / 'journal.sqlite3'}"))

    run.__name__ = test.__name__
    return run


@asynccontextmanager
async def around(url: str, surroundings: Around | None = None) -> AsyncIterator[Started]:
    plan = replace(plan_for(url, []), surroundings=surroundings or Around())
    async with started(url, plan=plan) as console:
        yield console


def edit(console: Started) -> ListEdit:
    return ListEdit("Keeper", console.runtime.roster.listed()[1])


def given(console: Started) -> dict[str, Given]:
    return {entry.device_id: entry.given for entry in console.runtime.roster.entries()[0]}


def state_of(console: Started, device_id: str) -> ContactState:
    return console.runtime.device(device_id).contact.state


@virtual
async def test_an_added_device_is_called_at_once_and_after_a_restart(url: str) -> None:
    async with around(url) as console:
        assert await console.runtime.roster.add(edit(console), QUAY) == 1
        assert [device.device_id for device in console.receiver.devices] == [DEVICE, "quay-9"]
        applied = [each.event for each in console.journal() if isinstance(each.event, DocumentApplied)]
        assert (applied[-1].document, applied[-1].revision, applied[-1].by) == ("devices", 1, "Keeper")
    async with around(url) as console:
        assert [device.device_id for device in console.receiver.devices] == [DEVICE, "quay-9"]
        assert console.runtime.roster.listed()[1] == 1


@virtual
async def test_a_removed_device_goes_blank_says_so_and_its_alarms_end(url: str) -> None:
    async with around(url) as console:
        console.receiver.lose()
        await console.pass_time(10, beating=False)
        assert f"contact-lost:{DEVICE}" in {alarm.alarm_id for alarm in console.runtime.alarms()}
        await console.runtime.roster.change(edit(console), DEVICE, {"enabled": False})
        assert console.receiver.devices == ()
        assert state_of(console, DEVICE) is ContactState.REMOVED
        assert "switched off" in console.runtime.device(DEVICE).contact.reason
        assert console.runtime.device(DEVICE).description is None
        await console.pass_time(20, beating=False)
        assert console.runtime.alarms() == ()
        table = console.runtime.table(Place.PACK)
        assert len(table) > 0
        assert (table.qualities == Quality.ABSENT).all()
        changes = [each.event.contact.state for each in console.journal() if isinstance(each.event, ContactChanged)]
        assert changes[-1] is ContactState.REMOVED


@virtual
async def test_one_that_is_watched_again_is_missed_again(url: str) -> None:
    async with around(url) as console:
        console.receiver.lose()
        await console.pass_time(10, beating=False)
        roster = console.runtime.roster
        await roster.change(edit(console), DEVICE, {"enabled": False})
        await roster.remove(edit(console), DEVICE)
        assert given(console) == {DEVICE: Given.START_UP}
        console.receiver.greet()
        await console.pass_time(3)
        assert state_of(console, DEVICE) is ContactState.FRESH
        assert console.runtime.alarms() == ()
        console.receiver.lose()
        await console.pass_time(10, beating=False)
        assert f"contact-lost:{DEVICE}" in {alarm.alarm_id for alarm in console.runtime.alarms()}


@virtual
async def test_one_that_is_watched_again_and_never_answers_is_missed(url: str) -> None:
    async with around(url) as console:
        roster = console.runtime.roster
        await roster.change(edit(console), DEVICE, {"enabled": False})
        await console.pass_time(3, beating=False)
        await roster.remove(edit(console), DEVICE)
        console.receiver.sink(Contact(console.runtime.now(), DEVICE, ContactState.CONNECTING))
        await console.pass_time(10, beating=False)
        assert f"contact-lost:{DEVICE}" in {alarm.alarm_id for alarm in console.runtime.alarms()}


@virtual
async def test_what_was_given_at_start_up_can_be_overruled_and_never_removed(url: str) -> None:
    async with around(url) as console:
        roster = console.runtime.roster
        with pytest.raises(ValueRefused, match="given at start-up"):
            await roster.remove(edit(console), DEVICE)
        await roster.change(edit(console), DEVICE, {"expects": Expects.REAL})
        assert given(console) == {DEVICE: Given.LIST_BEFORE_START_UP}
        assert console.receiver.devices[0].simulated is False
        with pytest.raises(NotFound):
            await roster.change(edit(console), "quay-7", {"enabled": False})


@virtual
async def test_a_second_of_the_same_id_or_address_is_refused_with_where_the_first_is(url: str) -> None:
    async with around(url) as console:
        roster = console.runtime.roster
        with pytest.raises(ValueRefused, match=f"listed already, at {SEEDED}"):
            await roster.add(edit(console), replace(QUAY, device_id=DEVICE))
        with pytest.raises(ValueRefused, match=f"the address of {DEVICE} too"):
            await roster.add(edit(console), replace(QUAY, url=SEEDED))
        with pytest.raises(RevisionStale):
            await roster.replace(ListEdit("Keeper", 7), DeviceList((QUAY,)))
        assert given(console) == {DEVICE: Given.START_UP}
        assert roster.listed()[1] == 0


@virtual
async def test_a_moved_device_is_offered_and_called_where_it_says_it_is(url: str) -> None:
    there = Around()
    elsewhere = "ws://127.0.0.1:20005/"
    there.heard = (Announced("Quay 1", DEVICE, "receiver", True, (elsewhere,), 1, 2),)
    async with around(url, there) as console:
        roster = console.runtime.roster
        assert roster.discovery().devices[0].standing is Standing.ELSEWHERE
        with pytest.raises(ValueRefused, match="in contact"):
            await roster.move(edit(console), DEVICE, elsewhere)
        console.receiver.lose()
        await console.pass_time(10, beating=False)
        assert roster.discovery().devices[0].standing is Standing.MOVED
        with pytest.raises(ValueRefused, match="connection refused"):
            await roster.move(edit(console), DEVICE, elsewhere)
        there.there[elsewhere] = "quay-7"
        with pytest.raises(ValueRefused, match="leads to someone else: quay-7"):
            await roster.move(edit(console), DEVICE, elsewhere)
        there.there[elsewhere] = DEVICE
        rows = console.runtime.table(Place.PACK).addresses
        await roster.move(edit(console), DEVICE, elsewhere)
        assert console.receiver.devices[0].url == elsewhere
        assert roster.discovery().devices[0].standing is Standing.LISTED
        console.receiver.greet()
        assert console.runtime.table(Place.PACK).addresses == rows
        assert state_of(console, DEVICE) is ContactState.FRESH


@virtual
async def test_looking_is_bounded_and_says_what_is_listed_already(url: str) -> None:
    there = Around()
    there.there[QUAY.url] = DEVICE
    async with around(url, there) as console:
        looked = await console.runtime.roster.look(QUAY.url)
        assert looked.devices[0].listed_at == SEEDED
        for refused in ("ws://192.0.2.1:20001/", "ws://127.0.0.1:22/", "ws://0x7f.1:20001/"):
            with pytest.raises(ValueRefused, match="can't be used"):
                await console.runtime.roster.look(refused)
        for _ in range(LOOKS_PER_MINUTE - 1):
            await console.runtime.roster.look(QUAY.url)
        with pytest.raises(LimitReached):
            await console.runtime.roster.look(QUAY.url)
        await console.pass_time(61)
        assert (await console.runtime.roster.look(QUAY.url)).reached


@virtual
async def test_every_device_tells_whether_it_is_real(url: str) -> None:
    async with around(url) as console:
        assert console.runtime.device(DEVICE).origin is Origin.SIMULATED
        await console.runtime.roster.change(edit(console), DEVICE, {"enabled": False})
        assert console.runtime.device(DEVICE).origin is Origin.UNKNOWN
