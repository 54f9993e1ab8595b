"""Whatever happened on the way, the twin is what the devices hold, ten seconds after the faults have ended."""

from __future__ import annotations

import math
from functools import partial
from pathlib import Path

from fleet.errors import NotFound
from fleet.model.fields import Value
from fleet.model.quality import Quality
from tests.promises.faults import PARTITIONS, later, replay, replay_an_edit, turn_the_panel
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.promises.stage import DEVICES, Stage, staged
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "twin_converges",
    "the twin converges",
    "partitions, replays, reboots, edits at panels and packs",
    "seeds",
    (2, 30, 600),
)
FAULTS_A_TRIAL = 25
WITHIN_S = 10.0
FAULTS = (*PARTITIONS, replay, replay_an_edit, turn_the_panel, turn_the_panel, turn_the_panel)


def tried(folder: Path, seed: int) -> Seen:
    own = folder / f"{PROMISE.name}-{seed}"
    own.mkdir()
    return run_virtual(_trial(own, seed))


def test_every_setting_equals_the_device_within_ten_seconds_of_the_faults_end(tmp_path: Path) -> None:
    seen = keep(PROMISE, partial(tried, tmp_path))
    assert seen["apart at the end of the faults"] > 0, "nothing was ever out of step, so that nothing was proved"


async def _trial(folder: Path, seed: int) -> Seen:
    async with staged(folder, seed) as stage:
        for _ in range(FAULTS_A_TRIAL):
            device_id = DEVICES[stage.luck.integers(len(DEVICES))]
            await FAULTS[stage.luck.integers(len(FAULTS))](stage, device_id)
            await stage.clock.sleep(stage.luck.random())
        await stage.clock.sleep(1.0)  # What was set to happen within a second happens.
        later(stage, 0.0, stage.link.heal)
        apart = len(_apart(stage))
        took_s = await _until_together(stage)
        edits = sum(len(effects.put) for effects in stage.effects.values())
        worst = f"{MOST}seconds until all settings agreed"
        return {"seeds": 1, "edits": edits, "apart at the end of the faults": apart, worst: round(took_s, 1)}


async def _until_together(stage: Stage) -> float:
    began_us = stage.clock.monotonic_us()
    while True:
        took_s = (stage.clock.monotonic_us() - began_us) / 1e6
        apart = _apart(stage)
        if not apart:
            return took_s
        assert took_s <= WITHIN_S, f"after {took_s:.1f} s: {apart}"
        await stage.clock.sleep(0.1)


def _apart(stage: Stage) -> list[str]:
    """What the console shows otherwise than it is, or doesn't call good."""
    return [address for address, truth in stage.effects.items() if not _same(stage, address, truth)]


def _same(stage: Stage, address: str, truth: dict[str, Value]) -> bool:
    try:
        shown = stage.runtime.settings(address)
    except NotFound:
        return False
    values = shown.reported
    return (
        shown.quality is Quality.GOOD
        and values.keys() == truth.keys()
        and all(_equal(values[name], truth[name]) for name in truth)
    )


def _equal(one: Value, other: Value) -> bool:
    if isinstance(one, float) or isinstance(other, float):
        return math.isclose(float(one), float(other))
    return one == other
