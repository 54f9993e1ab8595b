"""A full or failing disk is harmless: nothing is half written, the watch and the commands go on, the gap is marked."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from functools import partial
from pathlib import Path

import apsw
import numpy as np

from fleet.errors import JournalUnavailable
from fleet.journal.entries import StateEvent, append, last_sequence
from fleet.journal.ledger import Ledger
from fleet.model.address import Place
from fleet.model.command import Command, CommandState
from fleet.model.event import JournalGap, Recorded
from fleet.model.inputs import RequestWrite
from fleet.model.quality import Quality
from tests.journal.samples import notice, numbered
from tests.promises.power_cut import SCHEME, VFS, Disk
from tests.promises.promise import MOST, TIER, Promise, Seen, Tier, keep
from tests.promises.stage import MortalWriter, Stage, staged
from tests.virtual_time import run_virtual

AT_EVERY_WRITE = Promise(
    "disk_fails", "a full or failing disk is harmless", "FULL and EIO at every write index", "indices", (60, 600, 600)
)
WHILE_WATCHING = Promise(
    "disk_fails_while_watching",
    "a full or failing disk is harmless",
    "a disk that takes nothing for 3 to 30 s, under a running console",
    "seeds",
    (2, 30, 600),
    within="disk_fails",
)
WRITTEN_WITHIN_S = 5.0
EVENTS = 36 if TIER is Tier.TEST else 180
"""Enough for their commits to write more often than there are indices."""


def tried(folder: Path, seed: int) -> Seen:
    """One write index, counted from the first after the schema, with each of the two faults."""
    seen: Seen = {"indices": 1, "commits that failed": 0}
    for fault in (apsw.FullError, apsw.IOError):
        url = f"{SCHEME}:///{folder / f'{seed}-{fault.__name__}.sqlite3'}"
        seen["commits that failed"] += _failing_once(url, seed, fault)
    return seen


def test_whichever_write_fails_nothing_is_half_written_and_the_next_commit_goes_on(tmp_path: Path) -> None:
    seen = keep(AT_EVERY_WRITE, partial(tried, tmp_path))
    assert seen["commits that failed"] == 2 * seen["indices"], "every index was met, by each of the two faults"


def _failing_once(url: str, index: int, fault: type[Exception]) -> int:
    """Commit with one write failing; how many commits failed by it."""
    VFS.disk = Disk()
    VFS.pages_until_checkpoint = (1_000, 20)[index % 2]
    with closing(Ledger(url)) as ledger:
        ledger.open()
        VFS.disk.fault = fault
        VFS.disk.fails_at = VFS.disk.done + index
        return _write_all(ledger)


def _write_all(ledger: Ledger) -> int:
    kept, failed = 0, 0
    while kept < EVENTS:
        entries = numbered(kept + 1, *(notice(kept + number) for number in range(1, 4)))
        try:
            ledger.transact(partial(append, recorded=entries))
            kept += len(entries)
        except JournalUnavailable:
            failed += 1
            assert failed == 1, "one failing write costs one commit"
            # Whether a commit whose sync failed is there can't be told; half of it never is, and repeating it is safe.
            assert ledger.transact(last_sequence) in (kept, kept + len(entries))
        else:
            assert ledger.transact(last_sequence) == kept, "exactly what was acknowledged is there"
    assert ledger.transact(lambda connection: connection.exec_driver_sql("PRAGMA integrity_check").scalar()) == "ok"
    return failed


# ---------------------------------------------------------------- under a running console


class TiringWriter(MortalWriter):
    """Takes nothing while ``full``."""

    full = False

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        if self.full:
            raise JournalUnavailable("database or disk is full")
        await super().commit(recorded, states)


def test_while_the_disk_takes_nothing_the_watch_and_the_commands_go_on(tmp_path: Path) -> None:
    def trial(seed: int) -> Seen:
        folder = tmp_path / str(seed)
        folder.mkdir()
        return run_virtual(_trial(folder, seed))

    keep(WHILE_WATCHING, trial)


async def _trial(folder: Path, seed: int) -> Seen:
    async with staged(folder, seed, TiringWriter) as stage:
        writer = stage.writer
        assert isinstance(writer, TiringWriter)
        before = stage.journal()[-1].sequence
        writer.full = True
        full_s = 3.0 + 27.0 * float(stage.luck.random())
        commands = await _go_on(stage, full_s)
        assert stage.runtime.snapshot().journal.waiting > 0
        assert stage.runtime.reader.last_sequence() == before
        await stage.clock.sleep(float(stage.luck.random()))
        writer.full = False
        written_s = await _until_written(stage)
        _judge(stage, before, commands)
        return {"seeds": 1, "commands while it was full": len(commands), f"{MOST}seconds to write again": written_s}


async def _go_on(stage: Stage, seconds: float) -> list[str]:
    """Set things for so long; the console must say at once that it can't write, and do what it is asked."""
    asked: list[str] = []
    began_us = stage.clock.monotonic_us()
    targets = sorted(address for address in stage.effects if "channel" in address)
    while stage.clock.monotonic_us() - began_us < seconds * 1e6:
        command_id, target = f"c-{len(asked)}", targets[stage.luck.integers(len(targets))]
        revision = stage.runtime.settings(target).revision
        act = RequestWrite(command_id, target, {"name": command_id}, revision)
        command = await stage.runtime.execute("Engineer", act)
        assert isinstance(command, Command)
        assert command.unrecorded
        asked.append(command_id)
        journal = stage.runtime.snapshot().journal
        assert (journal.writable, journal.reason != "") == (False, True), "said with the first event, well within 2 s"
        await stage.clock.sleep(1.0)
        assert stage.runtime.command(command_id).state is CommandState.CONFIRMED
        assert (target, command_id) in [(address, put) for address, e in stage.effects.items() for _, put in e.put]
        _is_live(stage)
    return asked


def _is_live(stage: Stage) -> None:
    table = stage.runtime.table(Place.BRANCH)
    column = table.column_of["rf_dbm"]
    assert np.all(table.qualities[column] == Quality.GOOD)
    assert stage.clock.monotonic_us() - table.updated_us[column].min() < 500_000


async def _until_written(stage: Stage) -> float:
    began_us = stage.clock.monotonic_us()
    while not stage.runtime.snapshot().journal.writable:
        await stage.clock.sleep(0.1)
        waited_s = (stage.clock.monotonic_us() - began_us) / 1e6
        assert waited_s <= WRITTEN_WITHIN_S, "it must be written again within five seconds"
    return (stage.clock.monotonic_us() - began_us) / 1e6


def _judge(stage: Stage, before: int, commands: list[str]) -> None:
    entries = stage.journal()
    assert [entry.sequence for entry in entries] == list(range(1, len(entries) + 1)), "no event is missing"
    gaps = [entry.event for entry in entries if isinstance(entry.event, JournalGap)]
    assert len(gaps) == 1
    assert gaps[0].missed > 0
    assert gaps[0].lost == 0
    assert entries[-1].sequence > before + len(commands)
    for command_id in commands:
        assert stage.runtime.reader.command(command_id).unrecorded
