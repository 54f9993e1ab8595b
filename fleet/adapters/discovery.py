"""Listening for devices that announce themselves by DNS-SD. What is heard is listed; nothing is ever called for it."""

from __future__ import annotations

import asyncio
import ipaddress
import logging
import socket
from collections.abc import Sequence
from dataclasses import replace

from zeroconf import IPVersion, ServiceStateChange
from zeroconf.asyncio import AsyncServiceBrowser, AsyncServiceInfo, AsyncZeroconf

from fleet.clock import Clock
from fleet.model.device_list import Announced
from fleet.protocol.announcement import SERVICE_TYPE, Announcement, announcement_of, plain
from fleet.reach import DevicePlace

_LOG = logging.getLogger(__name__)
ANNOUNCED_MAXIMUM = 256
ADDRESSES_MAXIMUM = 8
ASKED_AT_ONCE = 16
RESOLVE_WITHIN_MS = 3_000


class Listener:
    """Everything that announces itself on the interfaces that were named, as it stands now.

    At most 256 are listed; ``left_out`` counts those beyond, until others vanish. ``reason`` says why nothing can be
    heard, where that is so.
    """

    def __init__(self, interfaces: Sequence[str], clock: Clock) -> None:
        self.on = bool(interfaces)
        self.reason = "" if interfaces else "the configuration names no interfaces for discovery"
        self._interfaces = list(interfaces)
        self._clock = clock
        self._heard: dict[str, Announced] = {}
        self._left_out: set[str] = set()
        self._asking: dict[str, asyncio.Task[None]] = {}
        self._again: set[str] = set()
        self._places = asyncio.Semaphore(ASKED_AT_ONCE)
        self._zeroconf: AsyncZeroconf | None = None
        self._browser: AsyncServiceBrowser | None = None

    @property
    def left_out(self) -> int:
        """How many announcements there was no room for."""
        return len(self._left_out)

    def announced(self) -> tuple[Announced, ...]:
        """What announces itself now, by name."""
        return tuple(self._heard[name] for name in sorted(self._heard))

    async def start(self) -> None:
        """Begin to listen; where the interfaces can't be used, say so and go on without."""
        if not self.on:
            return
        try:
            _require_here(self._interfaces)
            self._zeroconf = AsyncZeroconf(interfaces=self._interfaces, ip_version=_versions(self._interfaces))
        except (OSError, ValueError, RuntimeError) as error:
            self.on, self.reason = False, f"discovery can't listen: {error}"[:200]
            _LOG.warning("Discovery can't listen at %s: %s", ", ".join(self._interfaces), error)
            return
        self._browser = AsyncServiceBrowser(self._zeroconf.zeroconf, SERVICE_TYPE, handlers=[self._changed])

    async def stop(self) -> None:
        """Listen no more, and forget what was heard."""
        asking = list(self._asking.values())
        for task in asking:
            task.cancel()
        await asyncio.gather(*asking, return_exceptions=True)
        if self._browser is not None:
            await self._browser.async_cancel()
        if self._zeroconf is not None:
            await self._zeroconf.async_close()
        self._heard.clear()
        self._left_out.clear()

    def _changed(self, *, name: str, state_change: ServiceStateChange, **_: object) -> None:
        if state_change is ServiceStateChange.Removed:
            self._vanished(name)
            return
        known = name in self._heard or name in self._asking
        if known or len(self._heard.keys() | self._asking.keys()) < ANNOUNCED_MAXIMUM:
            self._ask(name)
        elif len(self._left_out) < ANNOUNCED_MAXIMUM:
            self._left_out.add(name)

    def _vanished(self, name: str) -> None:
        """Forget a name, and take up one of those that were left out."""
        self._heard.pop(name, None)
        self._left_out.discard(name)
        self._again.discard(name)
        running = self._asking.pop(name, None)
        if running is not None:
            running.cancel()
        if self._left_out:
            self._ask(self._left_out.pop())

    def _ask(self, name: str) -> None:
        """Have a name asked about, once more where that is under way."""
        if name in self._asking:
            self._again.add(name)
            return
        task = self._asking[name] = asyncio.create_task(self._keep_asking(name), name="asking what announces itself")
        task.add_done_callback(lambda done: self._asked(name, done))

    def _asked(self, name: str, task: asyncio.Task[None]) -> None:
        if self._asking.get(name) is task:
            del self._asking[name]
        if not task.cancelled() and task.exception() is not None:
            _LOG.error("Asking about an announcement failed by a defect", exc_info=task.exception())

    async def _keep_asking(self, name: str) -> None:
        """Ask for the addresses and the TXT record behind a name, and list what was answered."""
        self._again.add(name)
        async with self._places:
            while self._zeroconf is not None and name in self._again:
                self._again.discard(name)
                info = AsyncServiceInfo(SERVICE_TYPE, name)
                if await info.async_request(self._zeroconf.zeroconf, RESOLVE_WITHIN_MS):
                    self._list(name, announced_of(info, self._clock.utc_us()))

    def _list(self, name: str, fresh: Announced) -> None:
        before = self._heard.get(name)
        self._heard[name] = fresh if before is None else replace(fresh, first_seen_utc_us=before.first_seen_utc_us)


def announced_of(info: AsyncServiceInfo, at_utc_us: int) -> Announced:
    """What was answered under one name, cut down to plain text and to places that have the form of a device's URL."""
    said = announcement_of(info.properties)
    addresses = info.parsed_addresses(IPVersion.All)[:ADDRESSES_MAXIMUM]
    port = info.port or 0
    urls = tuple(dict.fromkeys(_url(said, address, port) for address in addresses)) if 0 < port <= 65_535 else ()
    name = plain(info.name.removesuffix(f".{info.type}"))
    return Announced(name, said.device_id, said.kind, said.simulated, urls, at_utc_us, at_utc_us)


def _require_here(interfaces: Sequence[str]) -> None:
    """Raise OSError unless each is an address of this machine; the library would leave a socket behind."""
    for interface in interfaces:
        family = socket.AF_INET6 if ":" in interface else socket.AF_INET
        with socket.socket(family, socket.SOCK_DGRAM) as here:
            here.bind((interface, 0))


def _url(said: Announcement, address: str, port: int) -> str:
    return DevicePlace(said.secure, address, port, said.path).url


def _versions(interfaces: Sequence[str]) -> IPVersion:
    versions = {ipaddress.ip_address(interface).version for interface in interfaces}
    if versions == {4}:
        return IPVersion.V4Only
    return IPVersion.V6Only if versions == {6} else IPVersion.All
