"""Acts from their request to journal and device, on virtual time; their secrets reach the device and nothing else."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable, Coroutine
from dataclasses import replace
from pathlib import Path
from typing import Any

import msgspec
import pytest

from fleet.errors import InvalidRequest, NotFound
from fleet.feed import Subscription, View
from fleet.model.act import ActProgress, LevelStretch, ScanLevels
from fleet.model.capability import ActCapability, Argument, SchemaType, ValueSchema
from fleet.model.command import Command, CommandState
from fleet.model.device import ContactState, DeviceView, Lease
from fleet.model.inputs import LockDevice, RequestAct, TakeLease, UnlockDevice
from fleet.model.observation import Answer, CommandAnswer, Contact, Observation
from tests.console import DESCRIPTION, DEVICE, Started, plan_for, started
from tests.virtual_time import run_virtual

KEY = "seven bells and a lantern"
WITH_ACTS = replace(
    DESCRIPTION,
    acts=(
        ActCapability((DEVICE,), "set_key", arguments=(Argument("key", ValueSchema(SchemaType.STRING), secret=True),)),
        ActCapability((DEVICE,), "scan", progress=True, cancellable=True),
        ActCapability((DEVICE,), "tone", guarded=True),
    ),
)


def virtual(test: Callable[[str], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    """Run a test on virtual time, with the URL of a database that doesn't exist yet."""

    def run(tmp_path: Path) -> None:
        run_virtual(test(f"sqlite:///{tmp_path / 'journal.sqlite3'}"))

    run.__name__ = test.__name__
    return run


def assert_in_no_file(folder: Path, words: str) -> None:
    files = [path for path in folder.rglob("*") if path.is_file()]
    assert files
    assert not [path for path in files if words.encode() in path.read_bytes()]


def offer(console: Started) -> None:
    """Let the receiver describe itself with acts."""
    receiver = console.receiver
    receiver.sink(Contact(receiver.now(), DEVICE, ContactState.FRESH, "", receiver.boot, WITH_ACTS))
    receiver.beat()


async def ask(console: Started, name: str, command_id: str = "a-1", **arguments: str) -> Command:
    found = await console.runtime.execute("Engineer", RequestAct(command_id, DEVICE, name, arguments))
    assert isinstance(found, Command)
    await console.clock.sleep(0.01)
    return console.runtime.command(command_id)


async def told_of_progress(subscription: Subscription) -> object:
    """What the next message of progress says; the first hundred messages hold one."""
    for _ in range(100):
        for message in await subscription.next():
            if isinstance(message, str) and message.startswith('{"type":"progress"'):
                return json.loads(message)["progress"]
    raise AssertionError("nothing was told")


def says(console: Started, observation: Observation) -> None:
    console.receiver.sink(replace(observation, at=console.receiver.now()))


@virtual
async def test_a_secret_reaches_the_device_and_no_file_log_feed_or_answer(url: str) -> None:
    said: list[str] = []
    listening = logging.Handler()
    listening.emit = lambda record: said.append(record.getMessage())  # type: ignore[method-assign]  # Hears all.
    root = logging.getLogger()
    root.addHandler(listening)
    level = root.level
    root.setLevel(logging.DEBUG)
    try:
        async with started(url) as console:
            offer(console)
            command = await ask(console, "set_key", key=KEY)
            assert command.state is CommandState.SENT
            ((sent, secrets),) = console.receiver.acted
            assert (sent.act, sent.changes, secrets) == ("set_key", {}, {"key": KEY})
            shown = msgspec.json.encode(console.runtime.snapshot()).decode()
            journalled = "".join(str(entry) for entry in console.journal())
    finally:
        root.removeHandler(listening)
        root.setLevel(level)
    assert KEY not in shown + journalled + "".join(said)
    assert_in_no_file(Path(url.removeprefix("sqlite:///")).parent, KEY)


@virtual
async def test_an_act_whose_contact_fails_is_sent_once_and_unknown(url: str) -> None:
    async with started(url) as console:
        offer(console)
        console.receiver.reachable = False
        await ask(console, "scan")
        await console.pass_time(3)
        assert console.runtime.command("a-1").state is CommandState.UNKNOWN
        await console.pass_time(20)
        assert len(console.receiver.acted) == 1
        assert console.receiver.asked == [], "nobody reads an act back"


@virtual
async def test_progress_and_levels_are_told_while_an_act_runs(url: str) -> None:
    async with started(url) as console:
        offer(console)
        subscription = console.runtime.subscribe(View())
        await ask(console, "scan")
        assert console.runtime.levels("a-1") == ScanLevels("a-1")
        stretch = LevelStretch(470_000_000, 25_000, 25_000, (-101.0,))
        says(console, Observation(console.receiver.now(), DEVICE, progress=(ActProgress("a-1", 0.5, "half", stretch),)))
        await console.clock.sleep(0.2)
        told = await told_of_progress(subscription)
        assert told == {"a-1": {"fraction": 0.5, "words": "half", "stretches": 1}}
        assert console.runtime.levels("a-1").stretches == (stretch,)
        assert console.runtime.command("a-1").progress == 0.5
        with pytest.raises(NotFound):
            console.runtime.levels("a-9")
        subscription.close()


@virtual
async def test_after_a_restart_an_act_is_unknown_and_its_result_is_still_read(url: str) -> None:
    async with started(url) as console:
        offer(console)
        await ask(console, "scan")
        says(console, Observation(console.receiver.now(), DEVICE, answers=(CommandAnswer("a-1", Answer.ACCEPTED),)))
        await ask(console, "set_key", "a-2", key=KEY)
        says(console, Observation(console.receiver.now(), DEVICE, answers=(_done("a-2"),)))
        await console.clock.sleep(0.01)
    async with started(url, plan=plan_for(url, [])) as console:
        assert console.runtime.command("a-1").state is CommandState.UNKNOWN
        kept = console.runtime.reader.command("a-2")
        assert (kept.state, kept.act, kept.result) == (CommandState.CONFIRMED, "set_key", {"key_fingerprint": "3f"})
        assert console.receiver.acted == []


def _done(command_id: str) -> CommandAnswer:
    return CommandAnswer(command_id, Answer.DONE, result={"key_fingerprint": "3f"})


@virtual
async def test_locks_and_leases_are_answered_with_the_device(url: str) -> None:
    async with started(url) as console:
        offer(console)
        with pytest.raises(InvalidRequest, match="locked"):
            await ask(console, "tone")
        opened = await console.runtime.execute("Engineer", UnlockDevice(DEVICE, "levels", 1))
        assert isinstance(opened, DeviceView)
        assert opened.unlocked is not None
        assert (await ask(console, "tone")).state is CommandState.SENT
        closed = await console.runtime.execute("Engineer", LockDevice(DEVICE))
        assert isinstance(closed, DeviceView)
        assert closed.unlocked is None
        says(console, Observation(console.receiver.now(), DEVICE, lease=Lease(ours=False, holder="the other desk")))
        await console.runtime.execute("Engineer", TakeLease(DEVICE))
        await console.clock.sleep(0.01)
        assert console.receiver.leases_taken == 1
        kinds = console.kinds()
        assert (kinds.count("guard changed"), kinds.count("lease changed")) == (2, 1)
