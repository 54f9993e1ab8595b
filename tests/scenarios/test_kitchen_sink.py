"""Every kind of device through one console: acts, locks, leases, gateways, settings that hang on others, hands."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from fleet.errors import InvalidRequest, ValueRefused
from fleet.model.command import Command, CommandState, FieldOutcome
from fleet.model.device import ContactState, DeviceView
from fleet.model.fields import Value
from fleet.model.inputs import CancelCommand, LockDevice, RequestAct, RequestWrite, TakeLease, UnlockDevice
from fleet.protocol import messages
from fleet.protocol.received import Result
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role
from tests.scenarios.whole_console import WholeConsole, evening

S = CommandState
KINDS = {
    "sink-wide-1": "receiver",
    "sink-single-1": "receiver",
    "sink-step-1": "receiver",
    "sink-reader-1": "receiver",
    "sink-split-1": "distribution",
    "sink-charger-1": "charger",
    "sink-point-1": "access point",
    "sink-scan-1": "scanner",
    "sink-ear-1": "in-ear transmitter",
    "sink-thing-1": "weather vane",
    "sink-gate-1": "gateway",
    "sink-behind-1": "receiver",
    "sink-behind-2": "receiver",
}
KEY = "nine tides before the lamp"


def at_the_sink(test: Callable[[WholeConsole], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    return evening(test, "kitchen-sink")


async def act(console: WholeConsole, command_id: str, target: str, name: str, **arguments: Value) -> Command:
    await console.runtime.execute("Engineer", RequestAct(command_id, target, name, arguments))
    return console.runtime.command(command_id)


async def write(console: WholeConsole, command_id: str, target: str, **changes: Value) -> None:
    revision = console.runtime.settings(target).revision
    await console.runtime.execute("Engineer", RequestWrite(command_id, target, changes, revision))


async def ended(console: WholeConsole, command_id: str, within_s: float = 30.0) -> Command:
    """The command once it has ended, or is unknown."""
    for _ in range(round(within_s * 10)):
        command = console.runtime.command(command_id)
        if command.is_terminal or command.state is S.UNKNOWN:
            return command
        await console.pass_time(0.1)
    raise AssertionError(f"{command_id} is still {console.runtime.command(command_id).state.value}")


def device(console: WholeConsole, device_id: str) -> DeviceView:
    return console.runtime.device(device_id)


def exact(console: WholeConsole, address: str, name: str) -> Value | None:
    return console.runtime.snapshot().exact.get(address, {}).get(name)


def in_journal(console: WholeConsole, words: str) -> bool:
    return words in "".join(str(entry) for entry in console.runtime.reader.events(limit=10_000))


@at_the_sink
async def test_every_kind_is_watched_and_its_things_have_rows(console: WholeConsole) -> None:
    assert {view.device_id: view.contact.state for view in console.runtime.devices()} == dict.fromkeys(
        KINDS, ContactState.FRESH
    )
    described = {view.device_id: view.description for view in console.runtime.devices()}
    assert {name: said.kind for name, said in described.items() if said is not None} == KINDS
    rows = {view.place.value: view.rows for view in console.runtime.snapshot().tables}
    assert len(rows["bay"]) == 8
    assert len(rows["input"]) == 4
    assert len(rows["output"]) == 3
    assert len([row for row in rows["branch"] if row.startswith("sink-wide-1/")]) == 4
    assert exact(console, "sink-charger-1/bay/1", "identity") == "pack/s81"
    behind = device(console, "sink-behind-1").contact
    assert (behind.reached_through, device(console, "sink-wide-1").contact.reached_through) == ("sink-gate-1", "")


@at_the_sink
async def test_a_pack_is_set_through_its_access_point_while_receivers_hear_it(console: WholeConsole) -> None:
    assert console.runtime.settings("pack/s22").controlled_through == "sink-point-1"
    assert exact(console, "sink-step-1/channel/2", "identity") == "pack/s22"
    assert exact(console, "sink-reader-1/channel/1", "identity") == "pack/s22"
    await write(console, "c-1", "pack/s22", low_cut_hz=100)
    command = await ended(console, "c-1")
    assert command.state in {S.CONFIRMED, S.UNKNOWN, S.REFUSED}, "the yard may be too far for the return link"
    await write(console, "c-2", "pack/s21", low_cut_hz=100)
    assert (await ended(console, "c-2")).state is S.CONFIRMED
    assert console.runtime.command("c-2").device_id == "sink-point-1"


@at_the_sink
async def test_what_can_be_set_follows_the_mode(console: WholeConsole) -> None:
    carrier = "sink-wide-1/carrier/1"
    assert {"bandwidth_hz", "tone_squelch"} <= console.runtime.settings(carrier).in_force.keys()
    await write(console, "c-1", carrier, mode="robust")
    assert (await ended(console, "c-1")).state is S.CONFIRMED
    assert not {"bandwidth_hz", "tone_squelch"} & console.runtime.settings(carrier).in_force.keys()
    with pytest.raises(ValueRefused, match="is not there now: it hangs on mode"):
        await write(console, "c-2", carrier, bandwidth_hz=200_000)
    await write(console, "c-3", carrier, mode="dense")
    await ended(console, "c-3")
    with pytest.raises(ValueRefused, match="must be one of 100000"):
        await write(console, "c-4", carrier, bandwidth_hz=200_000)


@at_the_sink
async def test_a_write_that_is_partly_done_says_so_by_field(console: WholeConsole) -> None:
    await write(console, "c-1", "sink-wide-1/output/1", level_db=-12, delay_ms=5)
    command = await ended(console, "c-1")
    assert command.state is S.PARTLY_DONE
    level, delay = command.outcomes
    assert (level, delay.field, delay.done) == (FieldOutcome("level_db", True), "delay_ms", False)
    assert delay.reason
    await console.pass_time(0.5)
    assert console.runtime.settings("sink-wide-1/output/1").reported["level_db"] == -12
    assert console.runtime.settings("sink-wide-1").revision == console.runtime.settings("sink-wide-1/output/1").revision


@at_the_sink
async def test_keys_are_made_put_in_and_erased_and_no_key_is_kept(console: WholeConsole) -> None:
    channel, pack = "sink-wide-1/channel/1", "pack/s01"
    await act(console, "a-1", channel, "make_key")
    made = await ended(console, "a-1")
    assert made.state is S.CONFIRMED
    await console.pass_time(1.5)
    assert exact(console, channel, "key_fingerprint") == made.result["key_fingerprint"]
    assert exact(console, channel, "key_fingerprint") != exact(console, pack, "key_fingerprint"), "a mismatch"
    for number, target in enumerate((channel, pack)):
        await act(console, f"b-{number}", target, "set_key", key=KEY)
        assert (await ended(console, f"b-{number}")).state is S.CONFIRMED
    await console.pass_time(1.5)
    prints = {exact(console, channel, "key_fingerprint"), exact(console, pack, "key_fingerprint")}
    assert prints == {console.runtime.command("b-0").result["key_fingerprint"]}
    assert console.runtime.command("b-0").changes == {}
    assert not in_journal(console, KEY)
    await act(console, "e-1", pack, "erase_key")
    assert (await ended(console, "e-1")).state is S.CONFIRMED


@at_the_sink
async def test_a_scan_grows_and_ends_and_another_is_given_up(console: WholeConsole) -> None:
    span: dict[str, Value] = {"start_hz": 598_000_000, "stop_hz": 606_000_000, "step_hz": 100_000}
    await act(console, "scan-1", "sink-scan-1", "scan", **span)
    await console.pass_time(1.0)
    under_way = console.runtime.command("scan-1")
    assert under_way.state is S.ACCEPTED
    assert 0.0 < (under_way.progress or 0.0) < 1.0
    some = len(console.runtime.levels("scan-1").stretches)
    assert (await ended(console, "scan-1", 60.0)).state is S.CONFIRMED
    stretches = console.runtime.levels("scan-1").stretches
    assert 0 < some < len(stretches)
    frequencies = [each.start_hz + n * each.step_hz for each in stretches for n in range(len(each.levels_dbm))]
    assert (frequencies[0], frequencies[-1]) == (598_000_000, 606_000_000)
    assert frequencies == sorted(set(frequencies))
    await act(console, "scan-2", "sink-scan-1", "scan", **span)
    await console.pass_time(1.0)
    await console.runtime.execute("Engineer", CancelCommand("scan-2"))
    assert (await ended(console, "scan-2")).state is S.CANCELLED


@at_the_sink
async def test_a_link_waits_for_a_hand_and_so_does_a_write_that_no_return_link_carries(console: WholeConsole) -> None:
    await act(console, "link-1", "sink-step-1/channel/1", "link", medium="hand")
    await write(console, "c-1", "pack/s11", input_trim_db=6)
    await console.pass_time(5.0)
    assert console.runtime.command("link-1").state is S.WAITING_FOR_HAND
    assert console.runtime.command("c-1").state is S.WAITING_FOR_HAND
    console.fault("hand", address="sink-step-1/channel/1")
    console.fault("hand", address="pack/s11")
    assert (await ended(console, "link-1")).state is S.CONFIRMED
    assert (await ended(console, "c-1")).state is S.CONFIRMED
    await write(console, "c-2", "pack/s11", input_trim_db=0)
    await console.pass_time(1.5)
    await console.runtime.execute("Engineer", CancelCommand("c-2"))
    assert (await ended(console, "c-2")).state is S.CANCELLED
    assert console.runtime.settings("pack/s11").reported["input_trim_db"] == 6


@at_the_sink
async def test_a_restart_really_restarts_and_its_outcome_is_never_invented(console: WholeConsole) -> None:
    boot = device(console, "sink-split-1").contact.boot_id
    await act(console, "a-1", "sink-split-1", "restart")
    command = await ended(console, "a-1")
    assert command.state in {S.CONFIRMED, S.UNKNOWN}
    await console.pass_time(10.0)
    contact = device(console, "sink-split-1").contact
    assert contact.boot_id != boot
    assert contact.state is ContactState.FRESH
    assert console.runtime.settings("sink-split-1").revision.startswith(contact.boot_id)


@at_the_sink
async def test_in_ear_settings_are_locked_until_unlocked(console: WholeConsole) -> None:
    carrier = "sink-ear-1/carrier/1"
    with pytest.raises(InvalidRequest, match="locked: "):
        await write(console, "c-1", carrier, rf_on=False)
    with pytest.raises(InvalidRequest, match="locked: "):
        await act(console, "t-1", "sink-ear-1/channel/1", "tone", seconds=2)
    await console.runtime.execute("Engineer", UnlockDevice("sink-ear-1", "the Keeper hears nothing", 1))
    await write(console, "c-2", carrier, rf_on=False)
    assert (await ended(console, "c-2")).state is S.CONFIRMED
    await console.runtime.execute("Engineer", LockDevice("sink-ear-1"))
    await console.pass_time(0.5)
    assert device(console, "sink-ear-1").unlocked is None
    kinds = [(event["kind"], event.get("unlocked") is not None) for event in console.screen.events]
    assert [opened for kind, opened in kinds if kind == "guard changed"] == [True, False]
    with pytest.raises(InvalidRequest, match="locked: "):
        await write(console, "c-3", carrier, rf_on=True)


@at_the_sink
async def test_a_device_behind_a_gateway_is_lost_alone_or_with_its_gateway(console: WholeConsole) -> None:
    console.fault("silence", device_id="sink-behind-1", seconds=8.0)
    await console.pass_time(7.0)
    assert device(console, "sink-behind-1").contact.state is ContactState.LOST
    assert device(console, "sink-behind-2").contact.state is ContactState.FRESH
    assert device(console, "sink-gate-1").contact.state is ContactState.FRESH
    await console.pass_time(8.0)
    assert device(console, "sink-behind-1").contact.state is ContactState.FRESH
    console.fault("silence", device_id="sink-gate-1", seconds=8.0)
    await console.pass_time(7.0)
    for device_id in ("sink-gate-1", "sink-behind-1", "sink-behind-2"):
        assert device(console, device_id).contact.state is ContactState.LOST, device_id
    await console.pass_time(12.0)
    for device_id in ("sink-gate-1", "sink-behind-1", "sink-behind-2"):
        assert device(console, device_id).contact.state is ContactState.FRESH, device_id


class Rival:
    """Another console that takes the lease of a device, by the protocol."""

    def __init__(self) -> None:
        self.session = Session(Role.CONSOLE)
        self.transport: Any = None

    async def ask(self, console: WholeConsole, url: str, request: Callable[[], int]) -> Any:
        if self.transport is None:
            self.transport = await console.link.connect(url)
        request()
        for message in self.session.outgoing():
            await self.transport.send(message)
        while True:
            for item in self.session.receive(await self.transport.receive()):
                if isinstance(item, Result):
                    return item.body


@at_the_sink
async def test_another_console_takes_the_lease_and_an_engineer_takes_it_back(console: WholeConsole) -> None:
    carrier = "sink-wide-1/carrier/1"
    assert device(console, "sink-wide-1").lease is not None
    rival = Rival()
    ask = partial(rival.ask, console, "memory:sink-wide-1")
    await ask(lambda: rival.session.hello("The other desk"))
    await ask(lambda: rival.session.describe("sink-wide-1"))
    taken = await ask(lambda: rival.session.lease("sink-wide-1", 300, take=True))
    assert isinstance(taken, messages.LeaseResult)
    assert taken.granted
    await console.pass_time(0.5)
    lease = device(console, "sink-wide-1").lease
    assert lease is not None
    assert (lease.ours, lease.holder) == (False, "The other desk")
    with pytest.raises(InvalidRequest, match="The other desk writes to it"):
        await write(console, "c-1", carrier, mode="robust")
    await console.pass_time(11.0)
    assert device(console, "sink-wide-1").lease == lease, "nobody takes it by himself"
    await console.runtime.execute("Engineer", TakeLease("sink-wide-1"))
    await console.pass_time(0.5)
    await write(console, "c-2", carrier, mode="robust")
    assert (await ended(console, "c-2")).state is S.CONFIRMED


@at_the_sink
async def test_a_module_that_is_plugged_in_has_its_settings_at_once(console: WholeConsole) -> None:
    output = "sink-wide-1/output/4"
    contacts = len([event for event in console.screen.events if event["kind"] == "contact changed"])
    console.fault("plug_module", device_id="sink-wide-1", module="headphones")
    await console.pass_time(2.0)
    assert console.runtime.settings(output).reported["level_db"] == -60
    assert len([event for event in console.screen.events if event["kind"] == "contact changed"]) == contacts
    with pytest.raises(InvalidRequest, match="locked: "):
        await write(console, "c-1", output, level_db=-40)
