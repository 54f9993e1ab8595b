"""Virtual time jumps, keeps order, waits for threads and sockets, and refuses to hang."""

from __future__ import annotations

import asyncio
import threading

import pytest

from fleet.clock import LoopClock
from tests.virtual_time import NothingWillHappen, run_virtual

CLOCK = LoopClock(0)


def test_an_hour_passes_without_waiting() -> None:
    async def main() -> int:
        await CLOCK.sleep(3600)
        return CLOCK.monotonic_us()

    assert run_virtual(main()) == 3_600_000_000


def test_sleepers_wake_at_their_moments_and_in_order() -> None:
    woken: list[tuple[str, int]] = []

    async def sleeper(name: str, seconds: float) -> None:
        await CLOCK.sleep(seconds)
        woken.append((name, CLOCK.monotonic_us()))

    async def main() -> None:
        await asyncio.gather(sleeper("late", 2.5), sleeper("early", 0.1), sleeper("middle", 1.0))

    run_virtual(main())
    assert woken == [("early", 100_000), ("middle", 1_000_000), ("late", 2_500_000)]


def test_many_short_sleeps_add_up() -> None:
    async def main() -> int:
        for _ in range(10_000):
            await CLOCK.sleep(0.1)
        return CLOCK.monotonic_us()

    assert run_virtual(main()) == pytest.approx(1_000_000_000, abs=100)


def test_a_deadline_passes() -> None:
    async def main() -> None:
        async with asyncio.timeout(5):
            await CLOCK.sleep(6)

    with pytest.raises(TimeoutError):
        run_virtual(main())


def test_waiting_for_nothing_is_an_error_that_names_the_task() -> None:
    async def main() -> None:
        await asyncio.create_task(asyncio.Event().wait(), name="waits-for-ever")

    with pytest.raises(NothingWillHappen, match="waits-for-ever"):
        run_virtual(main())


def test_a_task_left_running_is_an_error_that_names_it() -> None:
    kept: list[asyncio.Task[None]] = []

    async def main() -> None:
        kept.append(asyncio.create_task(CLOCK.sleep(10), name="left-behind"))

    with pytest.raises(AssertionError, match="left-behind"):
        run_virtual(main())


def test_an_error_told_to_the_loop_alone_fails_the_test() -> None:
    def broken_callback() -> None:
        raise ValueError("nobody sees this")

    async def main() -> None:
        asyncio.get_running_loop().call_soon(broken_callback)
        await CLOCK.sleep(1)

    with pytest.raises(AssertionError, match="nobody sees this"):
        run_virtual(main())


def test_time_stands_still_while_a_thread_works() -> None:
    async def main() -> tuple[str, int]:
        loop = asyncio.get_running_loop()
        reached, go_on = threading.Event(), threading.Event()

        def work() -> str:
            reached.set()
            assert go_on.wait(timeout=10)
            return "done"

        async with asyncio.timeout(0.5):
            future = loop.run_in_executor(None, work)
            assert reached.wait(timeout=10)
            threading.Timer(0.05, go_on.set).start()
            return await future, CLOCK.monotonic_us()

    assert run_virtual(main()) == ("done", 0)


def test_sockets_of_the_same_process_deliver_before_time_moves() -> None:
    async def echo(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(await reader.readline())
        await writer.drain()
        writer.close()
        await writer.wait_closed()

    async def main() -> tuple[bytes, int]:
        server = await asyncio.start_server(echo, "127.0.0.1", 0)
        async with server, asyncio.timeout(1):
            reader, writer = await asyncio.open_connection(*server.sockets[0].getsockname())
            writer.write(b"tern rock\n")
            line = await reader.readline()
            moment_us = CLOCK.monotonic_us()
            writer.close()
            await writer.wait_closed()
            await CLOCK.sleep(0.1)
        return line, moment_us

    assert run_virtual(main()) == (b"tern rock\n", 0)
