"""The running console from input to journal, feed and device, on virtual time with a real database."""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import Callable, Coroutine
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from fleet.clock import LoopClock, SystemClock
from fleet.errors import (
    InvalidDocument,
    JournalUnavailable,
    NotFound,
    RevisionStale,
    ValueRefused,
)
from fleet.feed import Feed, Fresh, View
from fleet.journal.reader import Reader
from fleet.journal.tables import DOCUMENTS
from fleet.journal.writer import InlineWriter, Writer
from fleet.model.address import Place
from fleet.model.command import Command, CommandState
from fleet.model.event import ConsoleStarted, DocumentApplied
from fleet.model.inputs import Acknowledge
from fleet.model.production import NO_PRODUCTION
from fleet.runtime import Runtime
from tests.console import DEVICE, PRODUCTION, Receiver, Started, plan_for, started
from tests.virtual_time import run_virtual


def virtual(test: Callable[[str], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    """Run a test on virtual time, with the URL of a database that doesn't exist yet."""

    def run(tmp_path: Path) -> None:
        run_virtual(test(f"sqlite:///{tmp_path / 'journal.sqlite3'}"))

    run.__name__ = test.__name__
    run.__doc__ = test.__doc__
    return run


def command_now(console: Started, command_id: str = "c-1") -> Command:
    return console.runtime.command(command_id)


# ---------------------------------------------------------------- starting and stopping


@virtual
async def test_a_start_is_journalled_and_counts_an_epoch(url: str) -> None:
    for epoch in (1, 2):
        async with started(url) as console:
            assert console.runtime.snapshot().epoch == epoch
            begun = [entry.event for entry in console.journal() if isinstance(entry.event, ConsoleStarted)]
            assert [event.epoch for event in begun] == list(range(1, epoch + 1))


@virtual
async def test_sequence_numbers_go_on_where_the_journal_ended(url: str) -> None:
    for _ in range(3):
        async with started(url) as console:
            await console.pass_time(1)
    reader = Reader(url)
    sequences = [entry.sequence for entry in reader.events(limit=1_000)]
    assert sequences == list(range(1, len(sequences) + 1))
    reader.close()


@virtual
async def test_stopping_drops_the_contacts_and_frees_the_journal(url: str) -> None:
    receivers: list[bool] = []
    async with started(url) as console:
        subscription = console.runtime.subscribe(View())
        receivers.append(console.receiver.running)
    receivers.append(console.receiver.running)
    assert receivers == [True, False]
    assert await subscription.next() == ()
    async with started(url):
        pass


@virtual
async def test_a_database_that_cannot_be_used_stops_the_start_and_leaves_nothing(url: str) -> None:
    receivers: list[Receiver] = []
    plan = replace(plan_for(url, receivers), database_url="sqlite:////nowhere/at/all.sqlite3")
    with pytest.raises(JournalUnavailable):
        await Runtime.start(plan, LoopClock(0))
    assert receivers == []


@virtual
async def test_a_wrong_document_stops_the_start_and_leaves_nothing(url: str) -> None:
    async with started(url):
        pass
    writer = InlineWriter(url)
    await writer.open()
    await writer.run(lambda connection: connection.execute(sa.update(DOCUMENTS).values(body='{"production": 3}')))
    await writer.close()
    receivers: list[Receiver] = []
    for _ in range(2):  # Twice: had the first left anything, the journal would be in use.
        with pytest.raises(InvalidDocument):
            await Runtime.start(plan_for(url, receivers), LoopClock(0))
    assert not any(receiver.running for receiver in receivers)


def test_a_part_that_fails_is_not_survived_in_silence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ArithmeticError("a defect")

    async def whole() -> None:
        async with started(f"sqlite:///{tmp_path / 'journal.sqlite3'}") as console:
            monkeypatch.setattr(Feed, "tick", fail)
            with pytest.raises(ArithmeticError):
                await console.runtime.failed()

    run_virtual(whole())


@virtual
async def test_a_contact_that_nobody_keeps_any_more_ends_the_console(url: str) -> None:
    async with started(url) as console:
        console.receiver.broken.set_exception(ArithmeticError("a defect"))
        with pytest.raises(ArithmeticError):
            await console.runtime.failed()


@virtual
async def test_a_stop_ends_whoever_waits_for_a_failure(url: str) -> None:
    async with started(url) as console:
        waiting = asyncio.create_task(console.runtime.failed())
        await console.clock.sleep(1)
    await waiting


# ---------------------------------------------------------------- documents


@virtual
async def test_a_changed_rule_takes_effect_and_stands_after_a_restart(url: str) -> None:
    async with started(url) as console:
        rules, revision = console.runtime.editor.rules()
        assert revision == 0
        weak = next(rule for rule in rules if rule.rule_id == "weak-rf")
        assert await console.runtime.editor.change_rule("Engineer", replace(weak, limit=12.0), 0) == 1
        applied = [entry.event for entry in console.journal() if isinstance(entry.event, DocumentApplied)]
        assert (applied[-1].document, applied[-1].revision, applied[-1].by) == ("rules", 1, "Engineer")
    async with started(url) as console:
        rules, revision = console.runtime.editor.rules()
        assert revision == 1
        assert next(rule.limit for rule in rules if rule.rule_id == "weak-rf") == 12.0
        with pytest.raises(RevisionStale):
            await console.runtime.editor.change_rule("Engineer", weak, 0)
        with pytest.raises(ValueRefused):
            await console.runtime.editor.change_rule("Engineer", replace(weak, on_delay_s=-1.0), 1)
        with pytest.raises(NotFound):
            await console.runtime.editor.change_rule("Engineer", replace(weak, rule_id="strong-rf"), 1)
        assert console.runtime.editor.rules() == (rules, 1)


@virtual
async def test_a_production_becomes_a_revision_only_when_it_differs(url: str) -> None:
    plan = plan_for(url, [])
    renamed = replace(plan, production=replace(PRODUCTION, name="The Lamp, matinée"))
    for each, revision in ((plan, 1), (plan, 1), (renamed, 2)):
        async with started(url, plan=each) as console:
            assert console.runtime.snapshot().production_revision == revision
    async with started(url, plan=replace(plan, production=None)) as console:
        assert console.runtime.snapshot().production.name == "The Lamp, matinée"


@virtual
async def test_without_any_production_everything_works(url: str) -> None:
    async with started(url, plan=replace(plan_for(url, []), production=None)) as console:
        assert console.runtime.snapshot().production == NO_PRODUCTION
        console.receiver.obey(await console.ask())
        assert command_now(console).state is CommandState.CONFIRMED


# ---------------------------------------------------------------- the feed and the rest


@virtual
async def test_a_subscriber_gets_the_picture_then_what_happens(url: str) -> None:
    async with started(url) as console:
        await console.clock.sleep(1)
        subscription = console.runtime.subscribe(View())
        (fresh,) = await subscription.next()
        assert isinstance(fresh, Fresh)
        assert [device.device_id for device in fresh.snapshot.devices] == [DEVICE]
        console.receiver.obey(await console.ask(low_cut_hz=80))
        await console.clock.sleep(0.2)
        texts = [json.loads(message) for message in await subscription.next() if isinstance(message, str)]
        events = [event for text in texts if text["type"] == "events" for event in text["events"]]
        assert [event["sequence"] for event in events] == list(
            range(fresh.snapshot.sequence + 1, fresh.snapshot.sequence + len(events) + 1)
        )
        states = [event["command"]["state"] for event in events if event["kind"] == "command changed"]
        assert states == ["requested", "sent", "accepted", "confirmed"]
        settings = [view for text in texts if text["type"] == "settings" for view in text["settings"]]
        assert settings[-1]["reported"]["low_cut_hz"] == 80
        assert settings[-1]["desired"] == []


@virtual
async def test_missed_events_are_read_from_the_journal(url: str) -> None:
    async with started(url) as console:
        await console.pass_time(1)
    async with started(url) as console:
        await console.pass_time(1)
        subscription = console.runtime.subscribe(View(), since=0)
        await subscription.next()
        seen: list[int] = []
        while len(seen) < len(console.journal()):
            for message in await subscription.next():
                events = json.loads(message).get("events", []) if isinstance(message, str) else []
                seen += [event["sequence"] for event in events]
        assert seen == list(range(1, len(seen) + 1))


@virtual
async def test_retry_now_is_passed_on(url: str) -> None:
    async with started(url) as console:
        console.runtime.retry_now(DEVICE)
        assert console.receiver.retried == [DEVICE]
        with pytest.raises(NotFound):
            console.runtime.retry_now("quay-9")


@virtual
async def test_the_tables_grow_old_by_the_ticks(url: str) -> None:
    async with started(url) as console:
        await console.pass_time(1)
        await console.pass_time(3, beating=False)
        table = console.runtime.table(Place.DEVICE)
        (age_s,) = table.values[table.column_of["contact_age_s"]]
        assert age_s == pytest.approx(3.0, abs=0.11)


def test_with_the_writing_thread_on_a_real_loop_the_same_path_holds(tmp_path: Path) -> None:
    async def whole() -> None:
        receivers: list[Receiver] = []
        plan = replace(plan_for(f"sqlite:///{tmp_path / 'journal.sqlite3'}", receivers), make_writer=Writer)
        runtime = await Runtime.start(plan, SystemClock())
        receivers[0].console = runtime
        receivers[0].greet()
        console = Started(runtime, receivers[0], LoopClock(0))
        command = await console.ask()
        receivers[0].obey(command)
        await runtime.execute("Engineer", Acknowledge(()))
        assert runtime.reader.command("c-1").state is CommandState.CONFIRMED
        await runtime.stop()

    asyncio.run(whole())


def test_a_write_that_fails_is_said_in_the_log(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    async def whole() -> None:
        async with started(f"sqlite:///{tmp_path / 'journal.sqlite3'}") as console:
            console.receiver.reachable = False
            await console.ask()
            await console.clock.sleep(0.1)

    with caplog.at_level(logging.WARNING):
        run_virtual(whole())
    assert "write 'c-1': quay-1: not in contact" in caplog.text
