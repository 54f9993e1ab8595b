"""Calling devices: what may be called is checked, a name is looked up once, and only what was checked is called."""

from __future__ import annotations

import asyncio
import ipaddress
import ssl
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from fleet.adapters.adapter import Connect, Transport
from fleet.adapters.lookup import Lookup
from fleet.adapters.websocket_transport import OPEN_WITHIN_S, Pinned, connect_pinned
from fleet.config import DeviceAddress
from fleet.reach import DevicePlace, Reach, UnreachablePlace, read_device_url, unmapped

ADDRESSES_TRIED = 4
TokenOf = Callable[[str], str | None]
"""The token of that name, or None when none is kept under it."""


def no_token(_: str) -> str | None:
    """Where no tokens are kept."""
    return None


@dataclass(frozen=True, slots=True)
class Outgoing:
    """All the ways out of a console to devices.

    ``trust`` verifies the certificates of wss:// devices against their name or address; the machine's own trust when it
    is None.
    """

    reach: Reach
    lookup: Lookup
    token_of: TokenOf = no_token
    trust: ssl.SSLContext | None = None

    def to(self, device: DeviceAddress) -> Connect:
        """The way to one device, with its token."""
        return partial(self.open, token=device.token)

    async def open(self, url: str, token: str = "") -> Transport:
        """Open a connection. Raises OSError, saying why it could not, or why it would not."""
        try:
            place = read_device_url(url)
            self.reach.check_place(place)
        except UnreachablePlace as error:
            raise ConnectionError(f"not called: {error}") from error
        secret = self._secret(token)
        try:
            async with asyncio.timeout(OPEN_WITHIN_S):
                return await self._first_of(place, await self._addresses(place), secret)
        except TimeoutError as error:
            raise ConnectionError(f"no answer within {OPEN_WITHIN_S:g} s") from error

    def _secret(self, token: str) -> str | None:
        if not token:
            return None
        secret = self.token_of(token)
        if secret is None:
            raise ConnectionError(f"no token is kept under the name {token}; set it among the device tokens")
        return secret

    async def _addresses(self, place: DevicePlace) -> tuple[str, ...]:
        """The addresses that may be called, of all that the name leads to now; at least one."""
        if place.address is not None:
            return (str(unmapped(place.address)),)
        allowed, refused = [], ""
        for text in await self.lookup(place.host):
            try:
                address = unmapped(ipaddress.ip_address(text))
                self.reach.check_address(address)
                allowed.append(str(address))
            except ValueError as error:
                refused = refused or str(error)
        if not allowed:
            raise ConnectionError(f"not called: {place.host} leads to {refused or 'nothing'}")
        return tuple(allowed[:ADDRESSES_TRIED])

    async def _first_of(self, place: DevicePlace, addresses: tuple[str, ...], secret: str | None) -> Transport:
        """The first that answers, in the order in which they were given."""
        *others, last = addresses
        for address in others:
            try:
                return await connect_pinned(Pinned(place, address, secret, self.trust))
            except OSError:
                continue
        return await connect_pinned(Pinned(place, last, secret, self.trust))
