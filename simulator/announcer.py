"""Virtual devices that announce themselves by DNS-SD, on loopback alone, where they listen."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable
from urllib.parse import urlsplit

from zeroconf import IPVersion
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from fleet.protocol.announcement import SERVICE_TYPE, Announcement, properties_of
from simulator.ports import HOST


class Announcer:
    """Says where each virtual device listens, until it is stopped; then it takes its leave."""

    def __init__(self) -> None:
        self._zeroconf: AsyncZeroconf | None = None

    async def start(self, places: Iterable[tuple[str, str]]) -> None:
        """Announce devices, given as ids and URLs. Raises OSError where this machine has no multicast."""
        self._zeroconf = AsyncZeroconf(interfaces=[HOST], ip_version=IPVersion.V4Only)
        for device_id, url in places:
            # Ids differ already, so nobody has to be asked whether a name is free.
            await (await self._zeroconf.async_register_service(info_of(device_id, url), cooperating_responders=True))

    async def stop(self) -> None:
        """Take back what was announced."""
        if self._zeroconf is not None:
            await self._zeroconf.async_unregister_all_services()
            await self._zeroconf.async_close()


def info_of(device_id: str, url: str) -> AsyncServiceInfo:
    """The announcement of one device; its name says that it is simulated, too."""
    place = urlsplit(url)
    said = Announcement(device_id, simulated=True, secure=place.scheme == "wss", path=place.path or "/")
    return AsyncServiceInfo(
        SERVICE_TYPE,
        f"{device_id} (simulated).{SERVICE_TYPE}",
        port=place.port,
        addresses=[ipaddress.ip_address(HOST).packed],
        properties=properties_of(said),
        server=f"{device_id.replace('.', '-').replace('_', '-')}.redpoll-simulated.local.",
    )
