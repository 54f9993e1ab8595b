"""A command from its request to journal, screen and device, through restarts and failing disks, on virtual time."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fleet.errors import (
    InvalidRequest,
    JournalUnavailable,
    NotFound,
    RevisionMissing,
    RevisionStale,
    ValueRefused,
)
from fleet.journal.entries import StateEvent
from fleet.journal.writer import InlineWriter
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.command import Command, CommandState
from fleet.model.event import JournalGap, NoticeReceived, Recorded
from fleet.model.inputs import Acknowledge, Act, CancelCommand, CloseUnknown
from fleet.model.observation import Answer
from tests.console import DEVICE, PACK, Started, plan_for, started
from tests.virtual_time import run_virtual

ALARM = f"contact-lost:{DEVICE}"


def virtual(test: Callable[[str], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    """Run a test on virtual time, with the URL of a database that doesn't exist yet."""

    def run(tmp_path: Path) -> None:
        run_virtual(test(f"sqlite:///{tmp_path / 'journal.sqlite3'}"))

    run.__name__ = test.__name__
    run.__doc__ = test.__doc__
    return run


def command_now(console: Started, command_id: str = "c-1") -> Command:
    return console.runtime.command(command_id)


# ---------------------------------------------------------------- journal, then feed, then device


@virtual
async def test_a_command_is_journalled_then_shown_then_sent(url: str) -> None:
    order: list[str] = []
    async with started(url) as console:
        reader, receiver = console.runtime.reader, console.receiver
        publish, write = console.runtime._feed.publish, receiver.write

        def watched_publish(batch: Any) -> None:
            states = [command.state for command in reader.commands()]
            order.append(f"shown, journal has {states[0].value if states else 'nothing'}")
            publish(batch)

        async def watched_write(command: Command) -> None:
            order.append(f"sent, journal has {reader.command(command.command_id).state.value}")
            await write(command)

        console.runtime._feed.publish = watched_publish  # type: ignore[method-assign]  # Watches the order.
        receiver.write = watched_write  # type: ignore[method-assign]  # Watches the order.
        await console.clock.sleep(0)
        order.clear()
        command = await console.ask()
        assert command.state is CommandState.SENT
        await console.clock.sleep(0.01)
        assert order == ["shown, journal has sent", "sent, journal has sent"]


@virtual
async def test_only_the_devices_report_confirms(url: str) -> None:
    async with started(url) as console:
        command = await console.ask(low_cut_hz=80)
        await console.clock.sleep(0.2)
        console.receiver.answer(command, Answer.ACCEPTED)
        assert command_now(console).state is CommandState.ACCEPTED
        console.receiver.obey(command)
        await console.clock.sleep(0.2)
        assert console.runtime.reader.command("c-1").state is CommandState.CONFIRMED
        assert console.runtime.settings(PACK).reported["low_cut_hz"] == 80
        assert [written.command_id for written in console.receiver.written] == ["c-1"]


@virtual
async def test_what_cannot_be_done_is_refused_and_leaves_no_trace(url: str) -> None:
    async with started(url) as console:
        await console.clock.sleep(1)
        before = console.kinds()
        wrong: list[tuple[Act, type[Exception]]] = [
            (replace(console.write(), revision=""), RevisionMissing),
            (replace(console.write(), revision="b1.77"), RevisionStale),
            (console.write(low_cut_hz=85), ValueRefused),
            (console.write(loudness=3), ValueRefused),
            (replace(console.write(), target="pack/none"), NotFound),
            (CancelCommand("c-none"), NotFound),
            (CloseUnknown("c-none", "why"), NotFound),
        ]
        for act, error in wrong:
            with pytest.raises(error):
                await console.runtime.execute("Engineer", act)
        await console.clock.sleep(1)
        assert console.kinds() == before
        assert console.receiver.written == []


@virtual
async def test_a_repeated_command_id_changes_nothing(url: str) -> None:
    async with started(url) as console:
        first = await console.ask()
        again = await console.ask()
        await console.clock.sleep(0.2)
        assert again.command_id == first.command_id
        assert len(console.receiver.written) == 1


@virtual
async def test_a_repeated_command_id_changes_nothing_after_a_restart_either(url: str) -> None:
    async with started(url) as console:
        console.receiver.obey(await console.ask())
        await console.clock.sleep(0.2)
    async with started(url) as console:
        again = await console.ask()
        await console.clock.sleep(0.2)
        assert again.state is CommandState.CONFIRMED
        assert console.receiver.written == []


@virtual
async def test_cancelling_what_was_sent_is_asked_of_the_device(url: str) -> None:
    async with started(url) as console:
        command = await console.ask()
        console.receiver.answer(command, Answer.WAITING_FOR_WAKE)
        answer = await console.runtime.execute("Engineer", CancelCommand("c-1"))
        assert isinstance(answer, Command)
        assert answer.state is CommandState.WAITING_FOR_WAKE
        await console.clock.sleep(0.1)
        assert [asked.command_id for asked in console.receiver.cancelled] == ["c-1"]
        console.receiver.answer(command, Answer.CANCELLED)
        await console.clock.sleep(0.1)
        assert console.runtime.reader.command("c-1").state is CommandState.CANCELLED


@virtual
async def test_a_cancel_never_overtakes_a_write_whose_commit_takes_long_and_the_journal_has_who_asked(url: str) -> None:
    plan = replace(plan_for(url, []), make_writer=FailingWriter)
    async with started(url, plan=plan) as console:
        await console.clock.sleep(0.55)
        disk = made.pop()
        disk.stopped = True
        order: list[str] = []
        write, cancel = console.receiver.write, console.receiver.cancel

        async def watched_write(command: Command) -> None:
            order.append(f"write {command.command_id}")
            await write(command)

        async def watched_cancel(command: Command) -> None:
            order.append(f"cancel {command.command_id}")
            await cancel(command)

        console.receiver.write = watched_write  # type: ignore[method-assign]  # Watches the order.
        console.receiver.cancel = watched_cancel  # type: ignore[method-assign]  # Watches the order.
        asking = asyncio.create_task(console.ask(low_cut_hz=80))
        await console.clock.sleep(0.01)
        await console.runtime.execute("Engineer", CancelCommand("c-1"))
        await asking
        await console.clock.sleep(0.01)
        assert order == ["write c-1", "cancel c-1"]
        disk.stopped = False
        await console.pass_time(2)
        said = [entry.event.words for entry in console.journal() if isinstance(entry.event, NoticeReceived)]
        assert said == ["Engineer asks to give up c-1"]


@virtual
async def test_a_device_that_cannot_be_written_leaves_the_outcome_unknown(url: str) -> None:
    async with started(url) as console:
        console.receiver.reachable = False
        await console.ask()
        await console.pass_time(2.5)
        assert command_now(console).state is CommandState.UNKNOWN
        assert len(console.receiver.written) == 1


@virtual
async def test_an_unknown_outcome_is_read_back_until_it_is_settled(url: str) -> None:
    async with started(url) as console:
        await console.ask(low_cut_hz=80)
        await console.pass_time(3)
        assert command_now(console).state is CommandState.UNKNOWN
        assert console.receiver.asked == [PACK]
        await console.pass_time(5)
        assert console.receiver.asked == [PACK, PACK]
        console.receiver.report_all(read_back=True)
        await console.pass_time(6)
        assert console.runtime.reader.command("c-1").state is CommandState.NOT_APPLIED
        assert console.receiver.asked == [PACK, PACK]
        assert len(console.receiver.written) == 1


# ---------------------------------------------------------------- restart


@virtual
async def test_after_a_crash_what_was_sent_is_unknown_and_read_back_settles_it(url: str) -> None:
    async with started(url) as console:
        command = await console.ask(low_cut_hz=80)
        await console.clock.sleep(0.1)
        settings = {**console.receiver.settings, **command.changes}
    async with started(url, greeted=False) as console:
        assert console.runtime.reader.command("c-1").state is CommandState.UNKNOWN
        await console.clock.sleep(1)
        assert console.receiver.asked == []
        console.receiver.greet()
        await console.clock.sleep(0.2)
        assert console.receiver.asked == [PACK]
        console.receiver.settings = settings
        console.receiver.report_all(read_back=True)
        await console.clock.sleep(0.2)
        assert console.runtime.reader.command("c-1").state is CommandState.CONFIRMED
        assert console.receiver.written == []


@virtual
async def test_after_a_crash_what_was_never_sent_has_expired(url: str) -> None:
    async with started(url) as console:
        await console.ask("c-1")
        await console.ask("c-2", muted=True)
        assert command_now(console, "c-2").state is CommandState.REQUESTED
    async with started(url) as console:
        assert console.runtime.reader.command("c-2").state is CommandState.EXPIRED
        await console.clock.sleep(1)
        assert console.receiver.written == []


@virtual
async def test_an_alarm_its_acknowledgement_and_its_end_outlive_a_restart(url: str) -> None:
    async with started(url) as console:
        console.receiver.lose()
        await console.pass_time(6, beating=False)
        alarms = await console.runtime.execute("Operator", Acknowledge((ALARM,)))
        assert isinstance(alarms, tuple)
        (seen,) = [alarm for alarm in alarms if isinstance(alarm, Alarm)]
        assert (seen.state, seen.acknowledged_by) == (AlarmState.ACKNOWLEDGED, "Operator")
    async with started(url, greeted=False) as console:
        (alarm,) = console.runtime.snapshot().alarms
        assert (alarm.state, alarm.acknowledged_by) == (AlarmState.ACKNOWLEDGED, "Operator")
        assert [matter.root for matter in console.runtime.snapshot().matters] == [DEVICE]
        console.receiver.greet()
        await console.pass_time(6)
        assert console.runtime.snapshot().alarms == ()
        assert console.runtime.reader.alarms() == ()


@virtual
async def test_acknowledging_what_nobody_knows_is_refused(url: str) -> None:
    async with started(url) as console:
        with pytest.raises((NotFound, InvalidRequest)):
            await console.runtime.execute("Operator", Acknowledge(("no-such:alarm",)))


# ---------------------------------------------------------------- the disk fails


class FailingWriter(InlineWriter):
    """The real writer, with a disk that a test can fill or stop."""

    def __init__(self, url: str) -> None:
        super().__init__(url)
        self.full = False
        self.stopped = False
        made.append(self)

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        if self.stopped:
            await asyncio.Event().wait()
        if self.full:
            raise JournalUnavailable("database or disk is full")
        await super().commit(recorded, states)


made: list[FailingWriter] = []


@virtual
async def test_while_the_disk_is_full_watch_and_commands_go_on_and_nothing_is_lost(url: str) -> None:
    plan = replace(plan_for(url, []), make_writer=FailingWriter)
    async with started(url, plan=plan) as console:
        await console.clock.sleep(0.5)
        disk = made.pop()
        disk.full = True
        command = await console.ask(low_cut_hz=80)
        assert command.unrecorded
        console.receiver.obey(command)
        await console.pass_time(3)
        snapshot = console.runtime.snapshot()
        assert [(one.state, one.unrecorded) for one in snapshot.commands] == [(CommandState.CONFIRMED, True)]
        assert not snapshot.journal.writable
        assert len(console.receiver.written) == 1
        disk.full = False
        await console.pass_time(2)
        assert console.runtime.snapshot().journal.writable
        sequences = [entry.sequence for entry in console.journal()]
        assert sequences == list(range(1, len(sequences) + 1))
        (gap,) = [entry.event for entry in console.journal() if isinstance(entry.event, JournalGap)]
        assert gap.lost == 0
        assert console.runtime.reader.command("c-1").state is CommandState.CONFIRMED


@virtual
async def test_a_command_whose_commit_outlasts_its_deadline_is_never_sent(url: str) -> None:
    plan = replace(plan_for(url, []), make_writer=FailingWriter)
    async with started(url, plan=plan) as console:
        await console.clock.sleep(0.55)
        disk = made.pop()
        disk.stopped = True
        command = await console.ask(muted=True)  # This receiver must accept a mute within half a second.
        assert command.state is CommandState.UNKNOWN
        await console.pass_time(1)
        assert console.receiver.written == []
        disk.stopped = False


@virtual
async def test_a_disk_that_hangs_delays_a_command_no_longer_than_the_device_may_take(url: str) -> None:
    plan = replace(plan_for(url, []), make_writer=FailingWriter)
    async with started(url, plan=plan) as console:
        await console.clock.sleep(0.55)
        disk = made.pop()
        disk.stopped = True
        command = await console.ask(low_cut_hz=80)
        assert (command.state, command.unrecorded) == (CommandState.SENT, True)
        await console.clock.sleep(0.01)
        console.receiver.obey(console.receiver.written[0])
        assert command_now(console).state is CommandState.CONFIRMED
        disk.stopped = False
