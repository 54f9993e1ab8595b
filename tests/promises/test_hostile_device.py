"""A hostile device hurts only its own row: whatever it sends, the others' rows, settings and contacts don't notice."""

from __future__ import annotations

import asyncio
import json
from collections import deque
from functools import partial
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from api.compose.memory_link import MemoryLink
from fleet.adapters.adapter import Transport
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.clock import LoopClock, SystemClock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed, ProtocolError
from fleet.model.address import Place
from fleet.model.device import ContactState
from fleet.model.event import ContactChanged
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation
from fleet.model.quality import Quality
from fleet.model.snapshot import JournalStatus
from fleet.pipeline import Pipeline
from simulator.virtual_fleet import VirtualFleet
from tests.promises.hostile_frames import Forge, aimed_at, from_devices
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.promises.stage import Stage, staged
from tests.simulator.small_stage import two_channels
from tests.small_fleet import Hand
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "hostile_device",
    "a hostile device hurts only its own row",
    "malformed, deep, huge, spoofed and senseless messages, in bursts",
    "frames",
    (1_250, 50_000, 1_000_000),
)
FRAMES_A_TRIAL = 500
WHOLE_EVERY = 10
HOSTILE, GOOD = "rack-1", "rack-2"
NO_JOURNAL = JournalStatus(writable=True, written_utc_us=None, waiting=0)


def tried(folder: Path, seed: int) -> Seen:
    seen = run_virtual(_trial(seed))
    if seed % WHOLE_EVERY == 1:
        own = folder / str(seed)
        own.mkdir()
        seen |= run_virtual(_whole(own, seed))
    return seen


def test_whatever_a_device_sends_no_other_row_notices(tmp_path: Path) -> None:
    seen = keep(PROMISE, partial(tried, tmp_path))
    assert 0 < seen["contacts ended by them"] < seen["frames"], "some must be taken and some must not"


# ---------------------------------------------------------------- adapter and pipeline


class Injected:
    """A connection on which, once greeted, the device says what it is told to, then hangs up."""

    def __init__(self, inner: Transport) -> None:
        self.inner = inner
        self.frames: deque[bytes] | None = None
        self.taken = 0

    async def send(self, message: bytes) -> None:
        if self.frames is None:
            await self.inner.send(message)

    async def receive(self) -> bytes | str:
        if self.frames is None:
            return await self.inner.receive()
        if not self.frames:
            raise ConnectionError("it has said everything")
        self.taken += 1
        return self.frames.popleft()

    async def close(self) -> None:
        await self.inner.close()


class Bench:
    """One pipeline; the good device stands in it, and every contact of the hostile one goes to it."""

    def __init__(self, seed: int) -> None:
        self.clock = LoopClock(0)
        self.link = MemoryLink(VirtualFleet(two_channels(), seed), self.clock)
        self.pipeline = Pipeline(1)
        self.ended = 0
        self.worst_ms = 0.0

    async def greet(self, device_id: str) -> tuple[OpenJsonAdapter, Injected]:
        inner = Injected(await self.link.connect("memory:rack-1"))

        async def connect(_: str) -> Transport:
            return inner

        adapter = OpenJsonAdapter(DeviceAddress(device_id, "memory:"), connect, self.clock, self._hear)
        await adapter.connect()
        return adapter, inner

    def _hear(self, item: Observation | Contact) -> None:
        self.pipeline.step(item)

    async def overhear(self, messages: int) -> list[dict[str, Any]]:
        """What the receiver really says, once greeted."""
        adapter, device = await self.greet(HOSTILE)
        heard = [json.loads(await device.inner.receive()) for _ in range(messages)]
        await adapter.close()
        return heard

    async def suffer(self, frames: deque[bytes]) -> None:
        """One contact after another until every frame was taken."""
        while frames:
            adapter, device = await self.greet(HOSTILE)
            device.frames = frames
            began_us = SystemClock().monotonic_us()
            try:
                await adapter.run()
            except (ContactFailed, ProtocolError):
                self.ended += 1
            finally:
                await adapter.close()
            each_ms = (SystemClock().monotonic_us() - began_us) / 1_000 / max(1, device.taken)
            self.worst_ms = max(self.worst_ms, each_ms)


async def _trial(seed: int) -> Seen:
    bench = Bench(seed)
    turning = asyncio.create_task(bench.link.run(), name="the world")
    hand = GoodDevice(bench.pipeline)
    before = hand.picture()
    heard = from_devices() + aimed_at(HOSTILE, GOOD) + await bench.overhear(60)
    forge = Forge(np.random.default_rng(seed), heard)
    await bench.suffer(deque(forge.frame() for _ in range(FRAMES_A_TRIAL)))
    turning.cancel()
    await asyncio.gather(turning, return_exceptions=True)
    assert hand.picture() == before
    return {
        "frames": FRAMES_A_TRIAL,
        "contacts ended by them": bench.ended,
        f"{MOST}milliseconds a frame of a contact took (measured, not asserted)": round(bench.worst_ms, 2),
    }


class GoodDevice:
    """The other device, as the pipeline shows it; nothing happens to it while the hostile one speaks."""

    def __init__(self, pipeline: Pipeline) -> None:
        self.pipeline = pipeline
        self._hand = Hand(pipeline)
        self._hand.produce(GOOD)
        self._hand.connect(GOOD)
        self._hand.run(1.0, [GOOD])

    def picture(self) -> bytes:
        snapshot = self.pipeline.snapshot(Moment(0, 0), 0, NO_JOURNAL)
        devices = [view for view in snapshot.devices if view.device_id == GOOD]
        settings = [view for view in snapshot.settings if view.controlled_through == GOOD]
        exact = {address: values for address, values in snapshot.exact.items() if GOOD in address}
        alarms = [alarm for alarm in snapshot.alarms if GOOD in alarm.address]
        return msgspec.json.encode([devices, settings, exact, alarms, self._readings()], order="sorted")

    def _readings(self) -> list[str]:
        shown = []
        for place in Place:
            table = self.pipeline.tables[place]
            rows = [row for row, address in enumerate(table.addresses) if GOOD in address]
            shown += [repr(plane[:, rows].tolist()) for plane in (table.values, table.qualities, table.updated_us)]
        return shown


# ---------------------------------------------------------------- the whole console


async def _whole(folder: Path, seed: int) -> Seen:
    """The same over the running console, with its supervisor and journal: contact after contact, tried at once."""
    async with staged(folder, seed) as stage:
        forge = Forge(stage.luck, from_devices() + aimed_at(HOSTILE, GOOD))
        for _ in range(20):
            stage.link.wires[HOSTILE].inject += [forge.frame() for _ in range(10)]
            for _ in range(5):
                await stage.clock.sleep(0.1)
                _others_are_well(stage)
            stage.runtime.retry_now(HOSTILE)
        bad = [entry.event for entry in stage.journal() if _went_bad(entry.event)]
        assert bad, "the journal must say that the device broke the protocol"
        return {"whole consoles": 1, "contacts journalled as bad": len(bad)}


def _went_bad(event: object) -> bool:
    if not isinstance(event, ContactChanged) or event.contact.state is not ContactState.BAD:
        return False
    assert event.contact.device_id == HOSTILE
    assert event.contact.reason
    return True


def _others_are_well(stage: Stage) -> None:
    for address, truth in stage.effects.items():
        if stage.fleet.device_of(address).device_id == HOSTILE:
            continue
        shown = stage.runtime.settings(address)
        assert (shown.quality, shown.reported) == (Quality.GOOD, dict(truth)), address
    table = stage.runtime.table(Place.BRANCH)
    column = table.column_of["rf_dbm"]
    wrong = [
        address
        for row, address in enumerate(table.addresses)
        if not address.startswith(HOSTILE) and table.qualities[column, row] != Quality.GOOD
    ]
    assert not wrong, wrong
