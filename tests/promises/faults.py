"""Faults that befall one device of a stage, each at a moment and for a time that luck draws."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

import numpy as np

from tests.promises.bad_link import ANSWER, CHANGED, OUTCOME, REQUEST
from tests.promises.stage import Stage

Fault = Callable[[Stage, str], Awaitable[None]]


def later(stage: Stage, seconds: float, act: Callable[[], object]) -> None:
    """Do something within so many seconds."""
    asyncio.get_running_loop().call_later(seconds * float(stage.luck.random()), act)


async def lose(stage: Stage, device_id: str) -> None:
    stage.link.wires[device_id].lose += _marks(stage.luck)


async def double(stage: Stage, device_id: str) -> None:
    stage.link.wires[device_id].double += _marks(stage.luck)


def _marks(luck: np.random.Generator) -> list[bytes]:
    marks = (REQUEST, ANSWER, CHANGED, OUTCOME)
    return [mark for mark in marks if luck.random() < 0.4] or [REQUEST]


async def replay(stage: Stage, device_id: str) -> None:
    stage.link.wires[device_id].replay += [CHANGED, OUTCOME]


async def stall(stage: Stage, device_id: str) -> None:
    until_us = stage.clock.monotonic_us() + round(8_000_000 * stage.luck.random())
    stage.link.wires[device_id].stalled_until_us = until_us


async def cut(stage: Stage, device_id: str) -> None:
    later(stage, 1.0, lambda: stage.link.cut(device_id))


async def half_open(stage: Stage, device_id: str) -> None:
    wire = stage.link.wires[device_id]

    def lose_the_line() -> None:
        wire.half_open = True
        asyncio.get_running_loop().call_later(3.0, wire.heal)

    later(stage, 0.5, lose_the_line)


async def reboot(stage: Stage, device_id: str) -> None:
    receiver = stage.fleet.devices[device_id]
    later(stage, 1.0, lambda: receiver.reboot(stage.link.now_us))


async def lose_the_packs(stage: Stage, device_id: str) -> None:
    """Hold or drop what the receiver and its packs say to each other."""
    rows = [row for row in stage.fleet.world.rows if row.device_id == device_id]
    links = [stage.fleet.world.links[row.index] for row in rows]
    held = stage.luck.random() < 0.5

    def restore() -> None:
        for link in links:
            link.held = link.dropped = False

    for link in links:
        link.held, link.dropped = held, not held
    later(stage, 9.0, restore)


async def turn_the_panel(stage: Stage, device_id: str) -> None:
    """Somebody renames something at the receiver or in their hand, as nobody else ever would."""
    receiver = stage.fleet.devices[device_id]
    targets = [address for address in receiver.addresses() if "name" in stage.effects[address]]
    target = targets[stage.luck.integers(len(targets))]
    name = f"panel {stage.luck.integers(1_000_000)}"
    later(stage, 1.0, lambda: receiver.turn_panel(target, {"name": name}))


async def replay_an_edit(stage: Stage, device_id: str) -> None:
    """The same thing is renamed twice, and the first news of it comes again after the second."""
    receiver = stage.fleet.devices[device_id]
    channels = receiver.description.channels
    target = channels[stage.luck.integers(len(channels))].address
    stage.link.wires[device_id].replay.append(CHANGED)
    for name in ("first", "second"):
        receiver.turn_panel(target, {"name": f"{name} {stage.luck.integers(1_000_000)}"})
        await stage.clock.sleep(0.2)


async def die_at_the_commit(stage: Stage, device_id: str) -> None:
    """The console dies just before or just after it commits whatever comes next."""
    del device_id
    stage.writer.dies = "before" if stage.luck.random() < 0.5 else "after"


async def die(stage: Stage, device_id: str) -> None:
    del device_id
    await stage.clock.sleep(0.3 * stage.luck.random())
    await fall_and_rise(stage)


async def rise_if_fallen(stage: Stage) -> None:
    if stage.link.dead:
        await fall_and_rise(stage)


async def fall_and_rise(stage: Stage) -> None:
    await stage.fall()
    await stage.clock.sleep(3.0 * stage.luck.random())
    await stage.rise()


PARTITIONS: tuple[Fault, ...] = (cut, half_open, stall, reboot, lose_the_packs)
FAULTS: tuple[Fault, ...] = (*PARTITIONS, lose, double, replay, turn_the_panel)
DEATHS: tuple[Fault, ...] = (die_at_the_commit, die)
