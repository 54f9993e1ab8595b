"""Journal before publish, and what happens when the disk fails, hangs and comes back."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Coroutine, Sequence
from typing import Any, TypeVar

import pytest
import sqlalchemy as sa

from fleet import recorder as recorder_module
from fleet.clock import LoopClock
from fleet.errors import JournalUnavailable
from fleet.feed import Batch
from fleet.journal.entries import StateEvent
from fleet.model.alarm import AlarmState
from fleet.model.command import CommandState
from fleet.model.event import CommandChanged, Event, JournalGap, Recorded
from fleet.recorder import COMMIT_WITHIN_S, RETRY_EVERY_S, Recorder, Wiring
from tests.journal.samples import alarm_in, command_in, notice
from tests.virtual_time import run_virtual

Result = TypeVar("Result")
UTC_START_US = 1_760_000_000_000_000


class DiskByHand:
    """A writer that commits, refuses or hangs as a test says."""

    def __init__(self) -> None:
        self.kept: list[Recorded] = []
        self.states: list[StateEvent] = []
        self.broken = False
        self.hanging = False
        self.gate: asyncio.Event | None = None

    async def open(self) -> None: ...

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        if self.gate is not None:
            await self.gate.wait()
        if self.hanging:
            await asyncio.Event().wait()
        if self.broken:
            raise JournalUnavailable("database or disk is full")
        last = self.kept[-1].sequence if self.kept else 0
        self.kept += [entry for entry in recorded if entry.sequence > last]
        self.states += states

    async def run(self, work: Callable[[sa.Connection], Result]) -> Result:
        raise NotImplementedError

    async def next_epoch(self) -> int:
        return 1

    async def close(self) -> None: ...


class Bench:
    """A recorder between a disk and a screen, both by hand."""

    def __init__(self) -> None:
        self.disk = DiskByHand()
        self.clock = LoopClock(UTC_START_US)
        self.published: list[Recorded] = []
        self.shown_unkept: list[int] = []
        self.unrecorded: list[str] = []
        self.batches = 0
        self.sequence = 0
        wiring = Wiring(self.publish, self.unrecorded.append, self.open_states, self.record_gap)
        self.recorder = Recorder(self.disk, self.clock, wiring)

    def publish(self, batch: Batch) -> None:
        kept = {entry.sequence for entry in self.disk.kept}
        self.shown_unkept += [entry.sequence for entry in batch.recorded if entry.sequence not in kept]
        self.published += batch.recorded

    def open_states(self) -> Sequence[StateEvent]:
        return (alarm_in(AlarmState.UNACKNOWLEDGED),)

    def record_gap(self, gap: JournalGap) -> None:
        self.add(gap)

    def add(self, *events: Event) -> int:
        recorded = tuple(Recorded(self.sequence + index, event) for index, event in enumerate(events, start=1))
        self.sequence += len(recorded)
        self.batches += 1
        self.recorder.add(Batch(self.batches, recorded))
        return self.batches

    async def happen(self, *events: Event) -> None:
        await self.recorder.settled(self.add(*events))


def numbers(entries: Sequence[Recorded]) -> list[int]:
    return [entry.sequence for entry in entries]


def on_bench(test: Callable[[Bench], Coroutine[Any, Any, None]]) -> Callable[[], None]:
    """Run a test on virtual time with a recorder that runs, and close it after."""

    async def whole() -> None:
        bench = Bench()
        _running = bench.recorder.start()
        await test(bench)
        await bench.recorder.close()

    def run() -> None:
        run_virtual(whole())

    run.__name__ = test.__name__
    run.__doc__ = test.__doc__
    return run


@on_bench
async def test_what_is_published_was_committed_before(bench: Bench) -> None:
    for number in range(20):
        bench.add(notice(number), notice(number))
    await bench.happen(notice(0))
    assert numbers(bench.published) == list(range(1, 42))
    assert bench.shown_unkept == []
    assert bench.recorder.status.writable
    assert bench.recorder.status.written_utc_us == bench.clock.utc_us()


@on_bench
async def test_nothing_is_published_while_the_commit_is_under_way(bench: Bench) -> None:
    bench.disk.gate = asyncio.Event()
    number = bench.add(notice(1))
    await bench.clock.sleep(COMMIT_WITHIN_S / 2)
    assert bench.published == []
    bench.disk.gate.set()
    await bench.recorder.settled(number)
    assert numbers(bench.published) == [1]


@on_bench
async def test_what_queues_during_a_commit_shares_the_next(bench: Bench) -> None:
    bench.disk.gate = asyncio.Event()
    commits: list[int] = []
    commit = bench.disk.commit

    async def counted(recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        commits.append(len(recorded))
        await commit(recorded, states)

    bench.disk.commit = counted  # type: ignore[method-assign]  # The test counts the calls.
    bench.add(notice(1))
    await bench.clock.sleep(0.1)
    for number in range(9):
        bench.add(notice(number))
    bench.disk.gate.set()
    await bench.recorder.settled(bench.batches)
    assert commits == [1, 9]


@on_bench
async def test_a_batch_without_events_keeps_its_place(bench: Bench) -> None:
    bench.add(notice(1))
    number = bench.add()
    await bench.recorder.settled(number)
    assert numbers(bench.disk.kept) == [1]


@on_bench
async def test_while_the_disk_fails_the_watch_goes_on_and_says_so(bench: Bench) -> None:
    bench.disk.broken = True
    await bench.happen(notice(1))
    await bench.happen(notice(2))
    status = bench.recorder.status
    assert numbers(bench.published) == [1, 2]
    assert (status.writable, status.waiting) == (False, 2)
    assert "full" in status.reason


@on_bench
async def test_once_there_is_room_all_that_waited_is_written_and_the_gap_marked(bench: Bench) -> None:
    bench.disk.broken = True
    await bench.happen(notice(1), notice(2))
    await bench.clock.sleep(3 * RETRY_EVERY_S)
    await bench.happen(notice(3))
    failed_for_us = bench.clock.utc_us() - UTC_START_US
    bench.disk.broken = False
    await bench.clock.sleep(2 * RETRY_EVERY_S)
    assert numbers(bench.disk.kept) == [1, 2, 3, 4]
    gap = bench.disk.kept[-1].event
    assert isinstance(gap, JournalGap)
    assert (gap.missed, gap.lost) == (3, 0)
    assert gap.began_utc_us == UTC_START_US
    assert gap.ended_utc_us - gap.began_utc_us >= failed_for_us
    assert numbers(bench.published) == [1, 2, 3, 4]
    assert bench.recorder.status.writable
    assert bench.disk.states == []


@on_bench
async def test_the_disk_is_written_again_within_five_seconds_of_having_room(bench: Bench) -> None:
    bench.disk.broken = True
    await bench.happen(notice(1))
    await bench.clock.sleep(61.5 * RETRY_EVERY_S)
    bench.disk.broken = False
    began_us = bench.clock.monotonic_us()
    while not bench.recorder.status.writable:
        await bench.clock.sleep(0.05)
    assert bench.clock.monotonic_us() - began_us <= 5_000_000


@on_bench
async def test_what_comes_while_the_waiting_ones_are_written_keeps_its_place(bench: Bench) -> None:
    bench.disk.broken = True
    await bench.happen(notice(1))
    bench.disk.broken = False
    bench.disk.gate = asyncio.Event()
    await bench.clock.sleep(1.5 * RETRY_EVERY_S)
    await bench.happen(notice(2))
    assert bench.disk.kept == []
    bench.disk.gate.set()
    await bench.clock.sleep(0.1)
    assert numbers(bench.disk.kept) == [1, 2, 3]


@on_bench
async def test_a_disk_that_does_not_answer_counts_as_failing(bench: Bench) -> None:
    bench.disk.hanging = True
    began_us = bench.clock.monotonic_us()
    await bench.happen(notice(1))
    assert bench.clock.monotonic_us() - began_us == COMMIT_WITHIN_S * 1_000_000
    assert "did not answer" in bench.recorder.status.reason
    before_us = bench.clock.monotonic_us()
    await bench.happen(notice(2))
    assert bench.clock.monotonic_us() == before_us
    bench.disk.hanging = False


@on_bench
async def test_commands_that_could_not_be_recorded_before_sending_are_marked(bench: Bench) -> None:
    await bench.happen(command_in(CommandState.REQUESTED, "c-1"))
    bench.disk.broken = True
    await bench.happen(command_in(CommandState.REQUESTED, "c-2"), command_in(CommandState.SENT, "c-2"))
    await bench.happen(command_in(CommandState.CONFIRMED, "c-1"))
    assert bench.unrecorded == ["c-2", "c-2"]
    commands = [entry.event.command for entry in bench.published if isinstance(entry.event, CommandChanged)]
    assert [command.unrecorded for command in commands[1:3]] == [True, True]


def test_beyond_the_bound_the_oldest_are_given_up_and_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(recorder_module, "WAITING_MAXIMUM", 5)

    @on_bench
    async def overflow(bench: Bench) -> None:
        bench.disk.broken = True
        for number in range(8):
            await bench.happen(notice(number))
        assert bench.recorder.status.waiting == 5
        bench.disk.broken = False
        await bench.clock.sleep(2 * RETRY_EVERY_S)
        assert numbers(bench.disk.kept) == [4, 5, 6, 7, 8, 9]
        gap = bench.disk.kept[-1].event
        assert isinstance(gap, JournalGap)
        assert (gap.missed, gap.lost) == (8, 3)
        # What the lost events led to stands all the same.
        assert bench.disk.states == [alarm_in(AlarmState.UNACKNOWLEDGED)]

    overflow()


async def end_failing(bench: Bench, *, mended: bool) -> None:
    _running = bench.recorder.start()
    bench.disk.broken = True
    await bench.happen(notice(1))
    bench.disk.broken = not mended
    await bench.recorder.close()


def test_at_the_end_what_waits_gets_one_more_attempt() -> None:
    bench = Bench()
    run_virtual(end_failing(bench, mended=True))
    assert numbers(bench.disk.kept) == [1, 2]
    assert isinstance(bench.disk.kept[-1].event, JournalGap)


def test_what_is_lost_at_the_end_is_said(caplog: pytest.LogCaptureFixture) -> None:
    bench = Bench()
    with caplog.at_level(logging.ERROR):
        run_virtual(end_failing(bench, mended=False))
    assert "1 events could not be written" in caplog.text


@on_bench
async def test_at_the_end_nothing_pending_is_left_unwritten(bench: Bench) -> None:
    for number in range(5):
        bench.add(notice(number))
    await bench.recorder.close()
    assert numbers(bench.disk.kept) == [1, 2, 3, 4, 5]
