"""Where a console may reach for devices: the form of a device's URL, the networks and ports, and what never is reached.

Pure: names are looked up elsewhere, and every address that a name leads to is asked about here before anything is sent
to it. So nobody can use the console as a proxy to what only the console's machine can see.
"""

from __future__ import annotations

import ipaddress
import re
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

URL_MAXIMUM = 2_048
PORTS_MAXIMUM = 65_535
Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Network = ipaddress.IPv4Network | ipaddress.IPv6Network
LOOPBACK_NETWORKS: tuple[Network, ...] = (ipaddress.ip_network("127.0.0.0/8"), ipaddress.ip_network("::1/128"))
DEFAULT_PORTS = ((1_024, 32_767),)
"""Above the ports that need a privilege (RFC 6335 section 6) and below those that Linux gives to outgoing calls."""

_NEVER: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("unspecified", ("0.0.0.0/8", "::/128")),  # RFC 6890
    ("link-local", ("169.254.0.0/16", "fe80::/10")),  # RFC 3927, RFC 4291 section 2.5.6
    ("multicast", ("224.0.0.0/4", "ff00::/8")),  # RFC 5771, RFC 4291 section 2.7
    ("broadcast or reserved", ("240.0.0.0/4",)),  # RFC 6890
    # Where hosted machines are told their secrets; common practice, beside 169.254.169.254.
    ("a metadata service", ("100.100.100.200/32", "168.63.129.16/32", "192.0.0.192/32", "fd00:ec2::254/128")),
    # Ways to an IPv4 address inside an IPv6 one: RFC 6052, RFC 8215, RFC 3056, RFC 4380, RFC 2765.
    ("a translated IPv4 address", ("64:ff9b::/96", "64:ff9b:1::/48", "2002::/16", "2001::/32", "::ffff:0:0:0/96")),
)
_REFUSED: tuple[tuple[str, Network], ...] = tuple(
    (words, ipaddress.ip_network(text)) for words, texts in _NEVER for text in texts
)
_OLD_IPV4_IN_IPV6 = ipaddress.ip_network("::/96")  # RFC 4291 section 2.5.5.1; ::1 is loopback all the same.
_LABEL = re.compile(r"(?!-)[a-z0-9_-]{1,63}(?<!-)\Z")  # RFC 1123 section 2.1; the underscore is common practice.
_NUMBER = re.compile(r"(0x[0-9a-f]*|[0-9]+)\Z")
_PATH = re.compile(r"[A-Za-z0-9._~!$&'()*+,;=:@%/-]*\Z")  # RFC 3986 section 3.3
NAME_MAXIMUM = 253  # RFC 1035 section 2.3.4, without the last dot.


class UnreachablePlace(ValueError):
    """A URL or an address that a console doesn't reach for; says why in words."""


@dataclass(frozen=True, slots=True)
class DevicePlace:
    """Where a URL leads: by TLS or not, to a name or an address in numbers, at a port and a path."""

    secure: bool
    host: str
    port: int
    path: str

    @property
    def address(self) -> Address | None:
        """The address, or None when the host is a name that must be looked up."""
        try:
            return ipaddress.ip_address(self.host)
        except ValueError:
            return None

    @property
    def url(self) -> str:
        """The place as a URL, in one form only, so that two that lead to the same place compare equal."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{'wss' if self.secure else 'ws'}://{host}:{self.port}{self.path}"


@dataclass(frozen=True, slots=True)
class Reach:
    """The networks and the ranges of ports, both ends included, in which devices may live."""

    networks: tuple[Network, ...] = LOOPBACK_NETWORKS
    ports: tuple[tuple[int, int], ...] = DEFAULT_PORTS

    def check_place(self, place: DevicePlace) -> None:
        """Raise UnreachablePlace for a port that isn't allowed, or an address in numbers that isn't."""
        if not any(first <= place.port <= last for first, last in self.ports):
            raise UnreachablePlace(f"port {place.port} is not among the allowed ports ({self.ports_in_words})")
        if place.address is not None:
            self.check_address(place.address)

    def check_address(self, address: Address) -> None:
        """Raise UnreachablePlace unless the address may be reached; a mapped one counts as the IPv4 address in it."""
        plain = unmapped(address)
        shown = str(plain) if plain == address else f"{plain}, written as IPv6,"
        for words, network in _REFUSED:
            if plain in network:
                raise UnreachablePlace(f"{shown} is {words}, which is never reached")
        if plain in _OLD_IPV4_IN_IPV6 and not plain.is_loopback:
            raise UnreachablePlace(f"{shown} is a translated IPv4 address, which is never reached")
        if not any(plain in network for network in self.networks):
            raise UnreachablePlace(f"{shown} is not in the allowed networks ({self.networks_in_words})")

    @property
    def networks_in_words(self) -> str:
        """The networks as a person writes them."""
        return ", ".join(str(network) for network in self.networks) or "none"

    @property
    def ports_in_words(self) -> str:
        """The ports as a person writes them."""
        return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in self.ports) or "none"


def unmapped(address: Address) -> Address:
    """The IPv4 address inside an IPv4-mapped IPv6 one (RFC 4291 section 2.5.5.2), any other address as it is."""
    mapped = address.ipv4_mapped if isinstance(address, ipaddress.IPv6Address) else None
    return address if mapped is None else mapped


def read_device_url(text: str) -> DevicePlace:
    """Where a device's URL leads.

    Raises UnreachablePlace unless it is ``ws://host:port[/path]`` or ``wss://…``, with a port, and without a name and
    password, a query or a fragment. The host is an address in numbers in its one plain form, or a name.
    """
    parts = _split(text)
    if parts.scheme not in {"ws", "wss"} or not parts.hostname:
        raise UnreachablePlace("it must be ws:// or wss:// with a host and a port")
    if parts.port is None or parts.port == 0:
        raise UnreachablePlace("it must name a port")
    if "@" in parts.netloc:
        raise UnreachablePlace("it must hold no name or password")
    if "?" in text or "#" in text:
        raise UnreachablePlace("it must hold no query and no fragment")
    if not _PATH.match(parts.path):
        raise UnreachablePlace("its path holds characters that a path can't")
    return DevicePlace(parts.scheme == "wss", _host(parts.hostname), parts.port, parts.path or "/")


def _split(text: str) -> SplitResult:
    if len(text) > URL_MAXIMUM:
        raise UnreachablePlace(f"it must be at most {URL_MAXIMUM} characters long")
    if not text.isascii() or not text.isprintable() or " " in text or "\\" in text:
        raise UnreachablePlace("it must hold plain characters only, without spaces")
    try:
        parts = urlsplit(text)
        _ = parts.port  # Reading it checks it.
    except ValueError as error:
        raise UnreachablePlace("it can't be read as ws://host:port/path") from error
    return parts


def _host(text: str) -> str:
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return _name(text)
    if isinstance(address, ipaddress.IPv6Address) and address.scope_id is not None:
        raise UnreachablePlace("its address must not name an interface")
    return str(address)


def _name(text: str) -> str:
    """A host's name. One that ends in a number would be read as an address by some and as a name by others."""
    labels = text.removesuffix(".").lower().split(".")
    if _NUMBER.match(labels[-1]):
        raise UnreachablePlace("its address must be written plainly, as four numbers or as IPv6 in brackets")
    if len(text) > NAME_MAXIMUM or not all(_LABEL.match(label) for label in labels):
        raise UnreachablePlace("its host is neither an address nor a name")
    return ".".join(labels)
