"""Receivers at their own pace, to measure a whole console against: ten frames and one heartbeat a second each.

Started as ``python -m tests.bench.paced_devices``; prints its port. Whoever connects and sends anything is served as
one two-channel receiver. Ends at the end of its input.
"""

from __future__ import annotations

import asyncio
import contextlib
import sys

import numpy as np
from websockets.asyncio.server import ServerConnection, serve
from websockets.exceptions import ConnectionClosed
from websockets.typing import Subprotocol

from fleet.clock import SystemClock
from fleet.protocol import codec, messages
from fleet.protocol.messages import SUBPROTOCOL
from tests.bench.ingest_device import VALUES

CLOCK = SystemClock()
EVERY_US = 100_000
FRAMES_A_HEARTBEAT = 10
LUCK = np.random.default_rng(1)
ROWS_OF_VALUES: list[list[float | bool | None]] = [
    [*LUCK.uniform(-60, -30, VALUES - 1).round(2).tolist(), False] for _ in range(64)
]


async def serve_one(connection: ServerConnection) -> None:
    with contextlib.suppress(ConnectionClosed):
        await connection.recv()
        began_us = CLOCK.monotonic_us()
        due_us = began_us + int(LUCK.integers(EVERY_US))
        sequence = 0
        while True:
            await CLOCK.sleep(max(0, due_us - CLOCK.monotonic_us()) / 1e6)
            due_us += EVERY_US
            sequence += 1
            time_us = CLOCK.monotonic_us() - began_us + 1
            values = ROWS_OF_VALUES[sequence % len(ROWS_OF_VALUES)]
            message = codec.encode_notification(messages.Readings(1, sequence, time_us, values))
            await connection.send(message, text=True)
            if sequence % FRAMES_A_HEARTBEAT == 1:
                beat = messages.Heartbeat(time_us, "boot-1", sequence)
                await connection.send(codec.encode_notification(beat), text=True)


async def main() -> None:
    names = [Subprotocol(SUBPROTOCOL)]
    async with serve(serve_one, "127.0.0.1", 0, subprotocols=names, compression=None, backlog=1_024) as server:
        print(next(iter(server.sockets)).getsockname()[1], flush=True)
        await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)


if __name__ == "__main__":
    asyncio.run(main())
