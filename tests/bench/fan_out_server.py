"""A server to measure: sends one table of 1,000 rows by 8 values ten times a second to whoever connects.

Started as ``python -m tests.bench.fan_out_server HOW``. HOW is ``bare`` (websockets' own broadcast of ready bytes, the
baseline), ``binary`` or ``json`` (the feed; text twice a second only, or the clients would drown). Prints its
port; at the end of its input it prints how many frames it made and the processor seconds they cost, and ends.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import sys
import time
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass

import numpy as np
from websockets.asyncio.server import ServerConnection, broadcast, serve
from websockets.exceptions import ConnectionClosed

from fleet.feed import Feed, Form, Fresh, View
from fleet.feed_frames import Stamp
from fleet.feed_view import Selection
from fleet.model.address import Place
from fleet.model.event import Recorded
from fleet.model.fields import column_fields
from fleet.model.moment import Moment
from tests.picture import GOOD_JOURNAL, PictureByHand

ROWS = 1_000
COLUMNS = tuple(field.name for field in column_fields(Place.PACK))
EVERY_S = 0.1
RATE_HZ = 10
JSON_RATE_HZ = 2


@dataclass(frozen=True, slots=True)
class Sending:
    """One way of sending: what a tick does, what serves a connection, what ends it all."""

    tick: Callable[[], None]
    serve: Callable[[ServerConnection], Awaitable[None]]
    end: Callable[[], None]


def now() -> Moment:
    return Moment(time.monotonic_ns() // 1_000, time.time_ns() // 1_000)


def filled_picture() -> PictureByHand:
    picture = PictureByHand()
    luck = np.random.default_rng(1)
    for name in COLUMNS:
        picture.put(Place.PACK, name, luck.uniform(0, 1, ROWS).tolist())
    return picture


def feed_of(form: Form) -> Sending:
    """The feed, and a handler that sends what a subscription gives."""

    async def nothing(_since: int, _until: int) -> Sequence[Recorded]:
        return ()

    feed = Feed(filled_picture(), 1, nothing)
    view = View(JSON_RATE_HZ if form is Form.JSON else RATE_HZ, form, {Place.PACK: COLUMNS})

    async def send(connection: ServerConnection) -> None:
        subscription = feed.subscribe(view)
        with contextlib.suppress(ConnectionClosed):
            while messages := await subscription.next():
                for message in messages:
                    if not isinstance(message, Fresh):
                        await connection.send(message)
        subscription.close()

    return Sending(lambda: feed.tick(now(), GOOD_JOURNAL), send, feed.close)


def bare() -> Sending:
    """Broadcast of the same bytes, made beforehand; only the time in them is new."""
    connections: set[ServerConnection] = set()
    frame = Selection(View(columns={Place.PACK: COLUMNS})).frame(Stamp(1, 1, now()), filled_picture().tables)
    (ready,) = frame.messages()
    assert isinstance(ready, bytes)
    # The time's place in the header of a readings message: bytes 24 to 31.
    before, after = ready[:24], ready[32:]

    async def hold(connection: ServerConnection) -> None:
        connections.add(connection)
        await connection.wait_closed()
        connections.discard(connection)

    def tick() -> None:
        broadcast(connections, before + now().monotonic_us.to_bytes(8, "little") + after)

    return Sending(tick, hold, lambda: None)


async def main(how: str) -> None:
    sending = bare() if how == "bare" else feed_of(Form(how))
    ticks, began_s = 0, time.process_time()
    ended = asyncio.Event()
    loop = asyncio.get_running_loop()
    loop.add_reader(sys.stdin, ended.set)
    async with serve(sending.serve, "127.0.0.1", 0, compression=None) as server:
        print(next(iter(server.sockets)).getsockname()[1], flush=True)
        due_s = time.monotonic()
        while not ended.is_set():
            due_s += EVERY_S
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(max(0.0, due_s - time.monotonic())):
                    await ended.wait()
            sending.tick()
            ticks += 1
        loop.remove_reader(sys.stdin)
        sending.end()
    frames = ticks * JSON_RATE_HZ // RATE_HZ if how == Form.JSON else ticks
    print(json.dumps({"frames": frames, "processor_s": time.process_time() - began_s}), flush=True)


if __name__ == "__main__":
    asyncio.run(main(sys.argv[1]))
