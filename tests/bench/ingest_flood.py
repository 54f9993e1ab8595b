"""Receivers to measure against: each connection gets a flood of readings frames, as fast as the line takes them.

Started as ``python -m tests.bench.ingest_flood``. Prints its port; whoever connects sends ``MESSAGES`` and gets that
many frames of a two-channel receiver, written as ready bytes so that the sender is never the slower end. Ends at the
end of its input.
"""

from __future__ import annotations

import asyncio
import functools
import sys

import numpy as np
from websockets.asyncio.server import ServerConnection, serve
from websockets.frames import Frame, Opcode
from websockets.typing import Subprotocol

from fleet.clock import SystemClock
from fleet.protocol import codec, messages
from fleet.protocol.messages import SUBPROTOCOL
from tests.bench.ingest_device import VALUES

CLOCK = SystemClock()
BUFFER_BYTES = 1 << 20
CHUNK_FRAMES = 200


def frame(sequence: int, values: list[float | bool | None]) -> bytes:
    """One frame of the WebSocket as it travels, unmasked."""
    message = codec.encode_notification(messages.Readings(1, sequence, 9_000_000 + sequence, values))
    return Frame(Opcode.TEXT, message).serialize(mask=False)


@functools.cache
def flood(count: int) -> list[bytes]:
    """Chunks of frames with values that differ from frame to frame."""
    luck = np.random.default_rng(1)
    frames = []
    for sequence in range(1, count + 1):
        values: list[float | bool | None] = [*luck.uniform(-90, -30, VALUES).round(2).tolist()]
        values[-1], values[-2] = False, None
        frames.append(frame(sequence, values))
    return [b"".join(frames[start : start + CHUNK_FRAMES]) for start in range(0, count, CHUNK_FRAMES)]


async def main() -> None:
    async def serve_one(connection: ServerConnection) -> None:
        async for asked in connection:
            for chunk in flood(int(asked)):
                connection.transport.write(chunk)
                while connection.transport.get_write_buffer_size() > BUFFER_BYTES:
                    await CLOCK.sleep(0.001)

    names = [Subprotocol(SUBPROTOCOL)]
    async with serve(serve_one, "127.0.0.1", 0, subprotocols=names, compression=None) as server:
        print(next(iter(server.sockets)).getsockname()[1], flush=True)
        await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)


if __name__ == "__main__":
    asyncio.run(main())
