"""Virtual devices announce themselves, and a console that listens hears them and adds nothing by itself."""

from __future__ import annotations

import asyncio

from fleet.adapters.discovery import Listener
from fleet.clock import SystemClock
from fleet.protocol.announcement import announcement_of
from simulator.announcer import Announcer, info_of

LOOPBACK = "127.0.0.1"
WITHIN_S = 10.0


def test_a_console_that_listens_hears_virtual_devices_come_and_go() -> None:
    async def main() -> None:
        clock = SystemClock()
        listener = Listener([LOOPBACK], clock)
        announcer = Announcer()
        await listener.start()
        try:
            await announcer.start([("quay-1", f"ws://{LOOPBACK}:20001"), ("quay-2", f"wss://{LOOPBACK}:20002/")])
            async with asyncio.timeout(WITHIN_S):
                while len(listener.announced()) < 2:
                    await clock.sleep(0.02)
            heard = {each.device_id: each for each in listener.announced()}
            assert heard["quay-1"].urls == (f"ws://{LOOPBACK}:20001/",)
            assert heard["quay-2"].urls == (f"wss://{LOOPBACK}:20002/",)
            assert all(each.simulated for each in heard.values())
            await announcer.stop()
            async with asyncio.timeout(WITHIN_S):
                while listener.announced():
                    await clock.sleep(0.02)
        finally:
            await listener.stop()

    asyncio.run(main())


def test_what_is_simulated_says_so_in_its_name_and_its_record() -> None:
    info = info_of("quay-1", f"ws://{LOOPBACK}:20001/")
    assert "simulated" in info.name
    assert announcement_of(info.properties).simulated is True
