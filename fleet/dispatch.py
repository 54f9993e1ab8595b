"""Hands commands on to the devices: one task for each, with a deadline; what it can't hand on is said by its deadline.

A command is handed on once. When that fails nobody can tell whether the device heard of it, so nothing is tried again
here: its state runs into its deadline and becomes unknown, and reading the settings again settles it.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Coroutine, Mapping
from typing import Any, Protocol

from fleet.errors import ContactFailed, NotFound, ProtocolError
from fleet.model.command import Command
from fleet.model.fields import Value

SEND_WITHIN_S = 5.0
UNDER_WAY_MAXIMUM = 10_000
_LOG = logging.getLogger(__name__)


class Devices(Protocol):
    """What the dispatcher needs of the supervisor. Each raises NotFound, ContactFailed or ProtocolError."""

    async def write(self, command: Command) -> None:
        """Send a write."""

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Send an act, with its secret arguments, which are kept nowhere."""

    async def take_lease(self, device_id: str) -> None:
        """Take the lease of a device from whoever holds it."""

    async def cancel(self, command: Command) -> None:
        """Ask the device to give a command up."""

    async def read_back(self, device_id: str, address: str) -> None:
        """Ask for the settings of an address again."""


class Dispatcher:
    """Owns the tasks that wait for devices, at most 10,000; one more is left to its command's deadline."""

    def __init__(self, devices: Devices) -> None:
        self._devices = devices
        self._under_way: set[asyncio.Task[None]] = set()

    @property
    def under_way(self) -> int:
        """How many requests wait for their devices."""
        return len(self._under_way)

    def write(self, command: Command) -> None:
        """Send a write, once."""
        self._begin(self._devices.write(command), f"write {command.command_id!a}")

    def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Send an act, once."""
        self._begin(self._devices.act(command, secrets), f"act {command.command_id!a}")

    def take_lease(self, device_id: str) -> None:
        """Take the lease of a device."""
        self._begin(self._devices.take_lease(device_id), f"take the lease of {device_id}")

    def cancel(self, command: Command) -> None:
        """Ask the device to give a command up."""
        self._begin(self._devices.cancel(command), f"cancel {command.command_id!a}")

    def read_back(self, device_id: str, address: str) -> None:
        """Ask for the settings of an address again."""
        self._begin(self._devices.read_back(device_id, address), f"read back {address}")

    async def stop(self) -> None:
        """Give up what is under way; returns once every task has ended."""
        for task in self._under_way:
            task.cancel()
        await asyncio.gather(*self._under_way, return_exceptions=True)

    def _begin(self, sending: Coroutine[Any, Any, None], name: str) -> None:
        if len(self._under_way) >= UNDER_WAY_MAXIMUM:
            sending.close()
            _LOG.error("%s was not begun: %d others are under way.", name, UNDER_WAY_MAXIMUM)
            return
        task = asyncio.create_task(_carried_out(sending, name), name=name)
        self._under_way.add(task)
        task.add_done_callback(self._under_way.discard)


async def _carried_out(sending: Coroutine[Any, Any, None], name: str) -> None:
    try:
        async with asyncio.timeout(SEND_WITHIN_S):
            await sending
    except TimeoutError:
        _LOG.warning("%s: the device took nothing for %g s.", name, SEND_WITHIN_S)
    except (ContactFailed, NotFound, ProtocolError) as error:
        _LOG.warning("%s: %s.", name, error)
