"""A whole console with its screens, beside a bare receive-and-broadcast pair in the same run: processor and loop lag.

Receivers, console and screens are a process each, as on three machines, but here they share this one: lags hold for a
machine that does all three. Nothing is asserted of a time.
"""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

SCREENS = 50
FLEETS = (12, 100, 500)
CHANNELS_A_DEVICE = 2
SETTLE_S, SECONDS = 15.0, 10.0
REPOSITORY = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Measured:
    """``core`` is the share of one core; lags are the median, the 99th percentile and the worst."""

    how: str
    devices: int
    core: float
    lags_ms: list[float]
    frames_a_screen: float
    bytes_a_screen: float


class Child:
    """A program of this folder, spoken to by lines."""

    def __init__(self, module: str, *words: str) -> None:
        command = [sys.executable, "-m", f"tests.bench.{module}", *words]
        self._process = subprocess.Popen(
            command, cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def hear(self) -> Any:
        out: IO[str] | None = self._process.stdout
        assert out is not None
        return json.loads(out.readline())

    def ask(self) -> Any:
        assert self._process.stdin is not None
        self._process.stdin.write("?\n")
        self._process.stdin.flush()
        return self.hear()

    def end(self) -> None:
        self._process.communicate()


async def drain(screen: ClientConnection, sizes: list[int]) -> None:
    while True:
        try:
            sizes.append(len(await screen.recv()))
        except ConnectionClosed:
            return


async def measure(how: str, devices: int) -> Measured:
    receivers = Child("paced_devices")
    measured = Child("whole_console", how, str(await asyncio.to_thread(receivers.hear)), str(devices))
    said = await asyncio.to_thread(measured.hear)
    url, headers = f"ws://127.0.0.1:{said['port']}/api/v1/live", {"Cookie": said["cookie"]}
    screens = [
        await connect(url, additional_headers=headers, compression=None, max_size=None, proxy=None)
        for _ in range(SCREENS)
    ]
    sizes: list[int] = []
    listening = [asyncio.create_task(drain(screen, sizes)) for screen in screens]
    for screen in screens:
        await screen.send('{"type":"subscribe"}')
    await asyncio.wait(listening, timeout=SETTLE_S)
    sizes.clear()
    before = await asyncio.to_thread(measured.ask)
    await asyncio.wait(listening, timeout=SECONDS)
    after = await asyncio.to_thread(measured.ask)
    count, volume = len(sizes), sum(sizes)
    await asyncio.gather(*(screen.close() for screen in screens), *listening)
    await asyncio.to_thread(measured.end)
    await asyncio.to_thread(receivers.end)
    core = (after["processor_s"] - before["processor_s"]) / SECONDS
    return Measured(how, devices, core, after["lags_ms"], count / SCREENS / SECONDS, volume / SCREENS / SECONDS)


def row(measured: Measured, baseline: Measured) -> str:
    channels = CHANNELS_A_DEVICE * measured.devices
    lags = "".join(f"{lag:>9.2f}" for lag in measured.lags_ms)
    heard = f"{measured.frames_a_screen:>11.1f}{measured.bytes_a_screen / 1e3:>9.0f}"
    return (
        f"{measured.how:<9}{channels:>9}{100 * measured.core:>8.1f}{measured.core / baseline.core:>7.2f}"
        f"{1e6 * measured.core / channels:>12.0f}{lags}{heard}"
    )


def test_whole_console() -> None:
    print(f"\n10 Hz, {SCREENS} screens at 10 Hz, {SECONDS:g} s each; CPU of one core; lag of a 10 ms timer")
    print(
        f"{'':<9}{'channels':>9}{'CPU %':>8}{'ratio':>7}{'us/ch/s':>12}{'lag p50':>9}{'p99':>9}{'most ms':>9}"
        f"{'messages/s':>11}{'kB/s':>9}"
    )
    for devices in FLEETS:
        baseline = asyncio.run(measure("bare", devices))
        for measured in (baseline, asyncio.run(measure("console", devices))):
            print(row(measured, baseline), flush=True)
            assert measured.frames_a_screen > 0
