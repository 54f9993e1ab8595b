"""Fan-out of 1,000 rows by 8 values to 50 clients, ten times a second, beside bare broadcast in the same run.

The server runs in a process of its own; the clients share this one, so their own work is in the times too, alike for
all. Nothing is asserted of a time.
"""

from __future__ import annotations

import asyncio
import json
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from websockets.asyncio.client import ClientConnection, connect

CLIENTS = 50
SECONDS = 5.0
REPOSITORY = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Measured:
    """One way of sending: how late frames were, how large, and the server's processor time for each frame to all."""

    how: str
    latencies_ms: list[float]
    frame_bytes: int
    processor_ms_per_frame: float


def sent_us(message: str | bytes, received_utc_us: int, received_us: int) -> int:
    """When the frame was made, on this machine's monotonic clock."""
    if isinstance(message, bytes):
        return int.from_bytes(message[24:32], "little")
    # A text frame says it in UTC, near its beginning.
    at_utc_us = int(message[message.index('"at_utc_us":') + 12 :].split(",", 1)[0])
    return received_us - (received_utc_us - at_utc_us)


async def listen(connection: ClientConnection, until_s: float, latencies_ms: list[float], sizes: list[int]) -> None:
    while time.monotonic() < until_s:
        message = await connection.recv()
        received_us, received_utc_us = time.monotonic_ns() // 1_000, time.time_ns() // 1_000
        if isinstance(message, str) and '"readings"' not in message[:40]:
            continue
        latencies_ms.append((received_us - sent_us(message, received_utc_us, received_us)) / 1_000)
        sizes.append(len(message))


async def clients(port: int) -> tuple[list[float], int]:
    latencies_ms: list[float] = []
    sizes: list[int] = []
    url = f"ws://127.0.0.1:{port}"
    connections = [await connect(url, compression=None, max_size=None) for _ in range(CLIENTS)]
    until_s = time.monotonic() + SECONDS
    await asyncio.gather(*(listen(connection, until_s, latencies_ms, sizes) for connection in connections))
    await asyncio.gather(*(connection.close() for connection in connections))
    return latencies_ms, max(sizes)


def measure(how: str) -> Measured:
    command = [sys.executable, "-m", "tests.bench.fan_out_server", how]
    with subprocess.Popen(command, cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdin is not None
        assert server.stdout is not None
        latencies_ms, frame_bytes = asyncio.run(clients(int(server.stdout.readline())))
        server.stdin.close()
        said = json.loads(server.stdout.readline())
    return Measured(how, latencies_ms, frame_bytes, 1_000 * said["processor_s"] / said["frames"])


def row(measured: Measured, baseline: Measured) -> str:
    cuts = statistics.quantiles(measured.latencies_ms, n=100)
    p50, p99 = cuts[49], cuts[98]
    base_p50 = statistics.quantiles(baseline.latencies_ms, n=100)[49]
    cost = measured.processor_ms_per_frame
    return (
        f"{measured.how:<12}{measured.frame_bytes:>9}{p50:>9.2f}{p50 / base_p50:>7.2f}{p99:>9.2f}"
        f"{cost:>9.2f}{cost / baseline.processor_ms_per_frame:>7.2f}{len(measured.latencies_ms):>8}"
    )


def test_fan_out() -> None:
    results = [measure(how) for how in ("bare", "binary", "json")]
    print(
        f"\n1,000 rows x 8 values to {CLIENTS} clients, {SECONDS:g} s each; 10 Hz, JSON 2 Hz; CPU of one frame to all"
    )
    print(f"{'sent as':<12}{'bytes':>9}{'p50 ms':>9}{'ratio':>7}{'p99 ms':>9}{'CPU ms':>9}{'ratio':>7}{'frames':>8}")
    for measured in results:
        print(row(measured, results[0]))
    for measured in results:
        assert len(measured.latencies_ms) > 0
