"""Nothing that a device has stopped telling is shown as live, read from the very frames that a screen gets."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import partial
from pathlib import Path

from fleet.errors import NotFound
from fleet.feed import Fresh, Subscription, View
from fleet.model.quality import Quality
from fleet.model.snapshot import TableView
from simulator.device import FOREVER_US
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.promises.stage import DEVICES, UTC_START_US, Stage, staged
from tests.screen_frames import parse_frame
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "stale_never_live",
    "stale never looks live",
    "half-open lines, frozen devices that still answer, silence, stalls, freezing across a reconnect",
    "seeds",
    (2, 40, 800),
)
HEARTBEATS_S = 2.0
GRANULARITY_S = 0.2
"""A tick of the console and a block of the world."""
OF_THE_CONSOLE = {"contact_age_s"}
"""What the console itself measures, which is never stale."""
WATCHED_S = 14.0


def tried(folder: Path, seed: int) -> Seen:
    own = folder / f"{PROMISE.name}-{seed}"
    own.mkdir()
    return run_virtual(_trial(own, seed))


def test_no_value_is_shown_good_beyond_two_heartbeats(tmp_path: Path) -> None:
    keep(PROMISE, partial(tried, tmp_path))


class Watcher:
    """A screen's end of the feed: the moment at which anything of each device was last shown as good."""

    def __init__(self, stage: Stage) -> None:
        self.good_us = dict.fromkeys(DEVICES, 0)
        self.values = 0
        self._device_of = {row.pack: row.device_id for row in stage.fleet.world.rows}
        self._tables: tuple[TableView, ...] = ()

    async def follow(self, subscription: Subscription) -> None:
        while messages := await subscription.next():
            for message in messages:
                if isinstance(message, Fresh):
                    self._tables = message.snapshot.tables
                elif isinstance(message, bytes) and message[0] == 1:
                    self._take(message)

    def _take(self, data: bytes) -> None:
        frame = parse_frame(data)
        table = self._tables[frame.table]
        for column, qualities in frame.qualities.items():
            if table.columns[column].name in OF_THE_CONSOLE:
                continue
            self.values += len(qualities)
            for address, quality in zip(table.rows, qualities, strict=True):
                if quality == Quality.GOOD:
                    device_id = self._device_of.get(address, address.partition("/")[0])
                    self.good_us[device_id] = frame.utc_us


async def _trial(folder: Path, seed: int) -> Seen:
    async with staged(folder, seed) as stage:
        watcher = Watcher(stage)
        following = asyncio.create_task(watcher.follow(stage.runtime.subscribe(View())), name="a screen")
        await stage.clock.sleep(1.0 + float(stage.luck.random()))
        silent = DEVICES[stage.luck.integers(len(DEVICES))]
        FAULTS[seed % len(FAULTS)](stage, silent)
        began_us = stage.clock.utc_us()
        settings_us = await _settings_last_good_us(stage, silent)
        _judge(stage, watcher, silent)
        following.cancel()
        await asyncio.gather(following, return_exceptions=True)
        readings_s, settings_s = (_seconds_after(began_us, us) for us in (watcher.good_us[silent], settings_us))
        for shown, seconds in (("readings", readings_s), ("settings", settings_s)):
            assert seconds <= HEARTBEATS_S + GRANULARITY_S, f"{silent}: {shown} were good {seconds:.1f} s later"
        return {
            "seeds": 1,
            "values shown": watcher.values,
            f"{MOST}seconds a reading still looked live": round(readings_s, 2),
            f"{MOST}seconds a setting still looked live": round(settings_s, 2),
        }


def _seconds_after(began_us: int, then_us: int) -> float:
    return max(0.0, (then_us - began_us) / 1e6)


async def _settings_last_good_us(stage: Stage, silent: str) -> int:
    last_us = 0
    for _ in range(round(WATCHED_S * 10)):
        await stage.clock.sleep(0.1)
        for address in stage.fleet.devices[silent].addresses():
            if _is_good(stage, address):
                last_us = stage.clock.utc_us()
    return last_us


def _is_good(stage: Stage, address: str) -> bool:
    try:
        return stage.runtime.settings(address).quality is Quality.GOOD
    except NotFound:
        return False


def _judge(stage: Stage, watcher: Watcher, silent: str) -> None:
    """The watch itself must work: the others were good all the while, and the silent one before."""
    assert watcher.good_us[silent] > UTC_START_US
    now_us = stage.clock.utc_us()
    others = [device_id for device_id in DEVICES if device_id != silent]
    late = [device_id for device_id in others if now_us - watcher.good_us[device_id] > 500_000]
    assert not late, f"{late} were not shown as live, and nothing was wrong with them"


def _half_open(stage: Stage, device_id: str) -> None:
    stage.link.wires[device_id].half_open = True


def _freeze(stage: Stage, device_id: str) -> None:
    stage.link.wires[device_id].frozen = True


def _silence(stage: Stage, device_id: str) -> None:
    stage.fleet.devices[device_id].silent_until_us = FOREVER_US


def _stall(stage: Stage, device_id: str) -> None:
    stage.link.wires[device_id].stalled_until_us = stage.clock.monotonic_us() + 60_000_000


FAULTS: tuple[Callable[[Stage, str], None], ...] = (_half_open, _freeze, _silence, _stall)
