"""Clocks: the one turned by hand wakes sleepers in order, the system's never goes back."""

import asyncio

from fleet.clock import LoopClock, ManualClock, SystemClock


async def test_manual_clock_wakes_each_sleeper_at_its_own_moment() -> None:
    clock = ManualClock(utc_start_us=5)
    woken: list[tuple[str, int]] = []

    async def sleeper(name: str, seconds: float) -> None:
        await clock.sleep(seconds)
        woken.append((name, clock.monotonic_us()))

    async with asyncio.TaskGroup() as group:
        group.create_task(sleeper("late", 2.0))
        group.create_task(sleeper("early", 1.0))
        await clock.advance(0.0)
        await clock.advance(0.5)
        assert woken == []
        await clock.advance(5.0)
    assert woken == [("early", 1_000_000), ("late", 2_000_000)]
    assert clock.utc_us() == 5_500_005


async def test_manual_clock_forgets_a_cancelled_sleeper() -> None:
    clock = ManualClock()
    task = asyncio.create_task(clock.sleep(1.0))
    await clock.advance(0.0)
    task.cancel()
    await clock.advance(2.0)
    assert task.cancelled()


async def test_system_and_loop_clock_advance() -> None:
    for clock in (SystemClock(), LoopClock(utc_start_us=1_000)):
        before = clock.monotonic_us()
        await clock.sleep(0)
        assert clock.monotonic_us() >= before
        assert clock.utc_us() > 0
