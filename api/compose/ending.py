"""Waiting for Ctrl-C or a polite request to end."""

from __future__ import annotations

import asyncio
import signal

from api.compose.children import Child


def asked_to_end() -> asyncio.Event:
    """An event that SIGINT and SIGTERM set from now on, in place of ending the process at once."""
    asked = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, asked.set)
    return asked


async def until_asked_to_end(child: Child) -> None:
    """Return when somebody asks for the end.

    Raises ChildFailed when the child ends by itself first.
    """

    async def heed_nothing(_: str) -> None:
        return

    asked = asyncio.create_task(asked_to_end().wait())
    relay = asyncio.create_task(child.relay(heed_nothing))
    try:
        done, _ = await asyncio.wait((asked, relay), return_when=asyncio.FIRST_COMPLETED)
    finally:
        for task in (asked, relay):
            task.cancel()
        await asyncio.gather(asked, relay, return_exceptions=True)
    if relay in done:
        relay.result()
