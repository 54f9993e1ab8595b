"""Ingest by stages, flooded, beside a bare receive in the same run. Nothing is asserted of a time.

The receivers live in a process of their own; this one is the console's end. Each stage does all that the one before it
does. Rounds of all stages take turns, so that a busy machine is busy for each alike; medians are shown.
"""

from __future__ import annotations

import asyncio
import gc
import statistics
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
import uvloop
from websockets.asyncio.client import ClientConnection, connect
from websockets.typing import Subprotocol

from fleet.adapters.adapter import Sink, Transport
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.open_json_line import OpenJsonLimits
from fleet.clock import SystemClock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed
from fleet.model.inputs import Tick
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation
from fleet.pipeline import Pipeline
from fleet.protocol.messages import SUBPROTOCOL
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role
from tests.bench.ingest_device import VALUES, greeting

DEVICES = 50
FRAMES = 1_000
ROUNDS = 5
REPOSITORY = Path(__file__).parents[2]
CLOCK = SystemClock()
UNBOUNDED = OpenJsonLimits(messages_per_second=1_000_000_000, too_old_us=10**15)
Stage = Callable[[ClientConnection, str], Awaitable[None]]


class Greeted:
    """A socket whose other end has answered the greeting already; it ends after so many frames."""

    def __init__(self, connection: ClientConnection, device_id: str) -> None:
        self._connection = connection
        self._answers = greeting(device_id)
        self._left = FRAMES

    async def send(self, message: bytes) -> None:
        """The answers are ready; nothing needs to travel."""

    async def receive(self) -> bytes | str:
        if self._answers:
            return self._answers.pop(0)
        if self._left == 0:
            raise ConnectionError("that was all")
        self._left -= 1
        return await self._connection.recv(decode=False)

    async def close(self) -> None:
        """The benchmark closes the socket."""


async def receive_only(connection: ClientConnection, _device_id: str) -> None:
    for _ in range(FRAMES):
        await connection.recv(decode=False)


async def and_decode(connection: ClientConnection, device_id: str) -> None:
    session = Session(Role.CONSOLE)
    requests: tuple[Callable[[], int], ...] = (
        lambda: session.hello("bench"),
        lambda: session.describe(device_id),
        lambda: session.read(device_id),
        lambda: session.subscribe(device_id, 100),
    )
    for request, answer in zip(requests, greeting(device_id), strict=True):
        request()
        session.receive(answer)
    for _ in range(FRAMES):
        session.receive(await connection.recv(decode=False))


def adapter_into(sink: Sink) -> Stage:
    async def stage(connection: ClientConnection, device_id: str) -> None:
        async def opened(_url: str) -> Transport:
            return Greeted(connection, device_id)

        adapter = OpenJsonAdapter(DeviceAddress(device_id, ""), opened, CLOCK, sink, UNBOUNDED)
        await adapter.connect()
        with pytest.raises(ContactFailed, match="that was all"):
            await adapter.run()

    return stage


def into(pipeline: Pipeline) -> Sink:
    def sink(item: Observation | Contact) -> None:
        pipeline.step(item)

    return sink


def nowhere(_item: Observation | Contact) -> None:
    """The end of the line for facts."""


async def ticking(pipeline: Pipeline) -> None:
    while True:
        await CLOCK.sleep(0.1)
        pipeline.step(Tick(Moment(CLOCK.monotonic_us(), CLOCK.utc_us())))


async def run_stage(port: int, stage: Stage, pipeline: Pipeline | None) -> float:
    """Processor seconds of this process for all frames of all devices."""
    names = [Subprotocol(SUBPROTOCOL)]
    url = f"ws://127.0.0.1:{port}"
    connections = [await connect(url, subprotocols=names, compression=None, proxy=None) for _ in range(DEVICES)]
    ticks = asyncio.create_task(ticking(pipeline)) if pipeline is not None else None
    gc.collect()
    gc.freeze()  # As the console does once it has started.
    began = time.process_time()
    for connection in connections:
        await connection.send(str(FRAMES))
    await asyncio.gather(*(stage(connection, f"rack-{number}") for number, connection in enumerate(connections)))
    spent = time.process_time() - began
    if ticks is not None:
        ticks.cancel()
    await asyncio.gather(*(connection.close() for connection in connections))
    return spent


def measure(port: int) -> dict[str, list[float]]:
    """Microseconds a frame, by stage and round."""
    found: dict[str, list[float]] = {}
    for _ in range(ROUNDS):
        pipeline = Pipeline(1)
        stages: list[tuple[str, Stage, Pipeline | None]] = [
            ("receive", receive_only, None),
            ("+ decode", and_decode, None),
            ("+ array, facts", adapter_into(nowhere), None),
            ("+ pipeline, ticks", adapter_into(into(pipeline)), pipeline),
        ]
        for name, stage, ticked in stages:
            spent = uvloop.run(run_stage(port, stage, ticked))
            found.setdefault(name, []).append(1e6 * spent / (DEVICES * FRAMES))
    return found


def test_ingest() -> None:
    command = [sys.executable, "-m", "tests.bench.ingest_flood"]
    with subprocess.Popen(command, cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as sender:
        assert sender.stdin is not None
        assert sender.stdout is not None
        found = measure(int(sender.stdout.readline()))
        sender.stdin.close()
    bare, bare_best = statistics.median(found["receive"]), min(found["receive"])
    print(f"\n{DEVICES} receivers, {FRAMES} frames of {VALUES} values each, flooded; processor time, {ROUNDS} rounds")
    print(f"{'stage':<20}{'us/frame':>10}{'frames/s':>12}{'of bare':>9}{'best':>8}{'of best':>9}")
    for name, costs in found.items():
        cost, best = statistics.median(costs), min(costs)
        ratios = f"{bare / cost:>9.2f}{best:>8.2f}{bare_best / best:>9.2f}"
        print(f"{name:<20}{cost:>10.2f}{1e6 / cost:>12,.0f}{ratios}")
    assert all(len(costs) == ROUNDS for costs in found.values())
