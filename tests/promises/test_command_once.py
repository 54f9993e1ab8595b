"""A command takes effect at most once and never lies about what became of it, whatever fails on its way.

Every write asks for a value that nothing else ever asks for, so that the devices' own records tell how often it took
effect; of acts they count how often each was begun and finished. One device leases, one stands behind a gateway. What
the console said is read from its journal.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from fleet.errors import InvalidRequest, LimitReached, NotFound
from fleet.model.command import Command, CommandState
from fleet.model.event import CommandChanged
from fleet.model.fields import Value
from fleet.model.inputs import CloseUnknown, RequestAct, RequestWrite
from tests.promises.faults import DEATHS, FAULTS, rise_if_fallen
from tests.promises.promise import Promise, Seen, keep
from tests.promises.stage import DEVICES, Stage, staged
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "command_once",
    "a command takes effect at most once and never lies",
    "loss, doubles, stalls, cuts, half-open lines, reboots, return links, console death",
    "commands",
    (250, 10_000, 200_000),
)
COMMANDS_A_TRIAL = 300
FAULTED_SHARE = 0.2
ACTS_SHARE = 0.15
ACT = "make_key"
EVERY_S = 0.15
REST_S = 35.0
"""Long enough for a device that broke the protocol several times to be tried again, and for two readings."""
LOWEST_HZ, STEP_HZ = 480_000_000, 25_000
WITHOUT_EFFECT = {
    CommandState.REFUSED,
    CommandState.EXPIRED,
    CommandState.SUPERSEDED,
    CommandState.CANCELLED,
    CommandState.NOT_APPLIED,
}


@dataclass(frozen=True, slots=True)
class Asked:
    command_id: str
    target: str
    device_id: str
    name: str
    value: Value


def tried(folder: Path, seed: int) -> Seen:
    own = folder / f"{PROMISE.name}-{seed}"
    own.mkdir()
    return run_virtual(_trial(own, seed))


def test_a_command_takes_effect_at_most_once_and_never_lies(tmp_path: Path) -> None:
    seen = keep(PROMISE, partial(tried, tmp_path))
    assert seen["confirmed"] > 0.3 * seen["commands"], "most must get through, or nothing is proved"


async def _trial(folder: Path, seed: int) -> Seen:
    async with staged(folder, seed) as stage:
        asked = [await ask(stage, number) for number in range(COMMANDS_A_TRIAL)]
        await stage.clock.sleep(8.0)
        await rise_if_fallen(stage)
        stage.writer.dies = ""
        stage.link.heal()
        await stage.clock.sleep(REST_S)
        await close_acts(stage)
        return _judged(stage, [each for each in asked if each is not None])


# ---------------------------------------------------------------- asking


async def ask(stage: Stage, number: int) -> Asked | None:
    """Ask for one command, a fifth of the time with a fault; None when the console refused to take it."""
    luck = stage.luck
    asked = _chosen(stage, number)
    await rise_if_fallen(stage)
    if luck.random() < FAULTED_SHARE:
        faults = (*FAULTS, *DEATHS)
        fault = faults[luck.integers(len(faults))]
        await fault(stage, asked.device_id)
    try:
        act = _request(stage, asked)
        asking = asyncio.create_task(stage.runtime.execute("Engineer", act), name=asked.command_id)
    except NotFound:
        await stage.clock.sleep(EVERY_S)
        return None
    await stage.clock.sleep(EVERY_S * (0.5 + luck.random()))
    await rise_if_fallen(stage)
    try:
        await asking
    except (InvalidRequest, NotFound, LimitReached):
        return None
    return asked


def _request(stage: Stage, asked: Asked) -> RequestWrite | RequestAct:
    if asked.name == ACT:
        return RequestAct(asked.command_id, asked.target, ACT, {})
    revision = stage.runtime.settings(asked.target).revision
    return RequestWrite(asked.command_id, asked.target, {asked.name: asked.value}, revision)


async def close_acts(stage: Stage) -> None:
    """Nobody can read an act back, so a person closes those whose outcome is unknown."""
    for command in stage.runtime.commands():
        if command.act and command.state is CommandState.UNKNOWN:
            await stage.runtime.execute("Engineer", CloseUnknown(command.command_id, "looked at the keys"))


def _chosen(stage: Stage, number: int) -> Asked:
    if stage.luck.random() < ACTS_SHARE:
        row = stage.fleet.world.rows[stage.luck.integers(len(stage.fleet.world.rows))]
        return Asked(f"a-{stage.seed}-{number}", row.channel, row.device_id, ACT, "")
    targets = sorted(stage.effects)
    target = targets[stage.luck.integers(len(targets))]
    name = "name" if "name" in stage.effects[target] and stage.luck.random() < 0.7 else "frequency_hz"
    name = name if name in stage.effects[target] else "name"
    value: Value = f"value {number}" if name == "name" else LOWEST_HZ + STEP_HZ * number
    device_id = stage.fleet.device_of(target).device_id
    return Asked(f"c-{stage.seed}-{number}", target, device_id, name, value)


# ---------------------------------------------------------------- judging


def _judged(stage: Stage, asked: list[Asked]) -> Seen:
    said = {
        entry.event.command.command_id: entry.event.command
        for entry in stage.journal()
        if isinstance(entry.event, CommandChanged)
    }
    seen: Seen = {"commands": 0, "confirmed": 0, "never journalled": 0, "acts": 0, "devices": len(DEVICES)}
    for each in asked:
        effects = _effects(stage, each)
        command = said.get(each.command_id)
        problem = _problem(command, effects)
        assert problem is None, f"{each}: {problem}: {command}"
        seen["commands"] += 1
        seen["acts"] += each.name == ACT
        state = "never journalled" if command is None else command.state.value
        seen[state] = seen.get(state, 0) + 1
    return seen


def _effects(stage: Stage, asked: Asked) -> int:
    """How often it took effect; an act that was begun more than once is as bad as one that ended so."""
    if asked.name != ACT:
        return stage.effects[asked.target].put.count((asked.name, asked.value))
    began = stage.performed.began[asked.command_id]
    return began if began > 1 else stage.performed.finished[asked.command_id]


def _problem(command: Command | None, effects: int) -> str | None:
    if effects > 1:
        return f"took effect {effects} times"
    if command is None:
        return "took effect, and no journal knows of it" if effects else None
    if not command.is_terminal:
        return "never came to an end"
    if command.state is CommandState.CONFIRMED and not effects:
        return "is called confirmed and never took effect"
    if command.state is CommandState.NOT_APPLIED and command.reason.endswith("may have been applied before that"):
        return None  # Somebody changed it again before it could be read: the console says that it can't tell.
    if command.state in WITHOUT_EFFECT and effects:
        return f"is called {command.state.value} and took effect"
    return None
