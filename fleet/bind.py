"""Where the console listens, under which names it is asked for, and what it shows for itself by TLS."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from fleet.toml_table import TomlTable

NAMES_MAXIMUM = 32
_LOOPBACK_HOSTS: Mapping[str, str] = {"localhost": "127.0.0.1"}
_NAME = re.compile(r"(?=.{1,253}\Z)[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*\Z")
_LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")


@dataclass(frozen=True, slots=True)
class Tls:
    """The files of the certificate, with those that vouch for it, and of its key."""

    certificate: Path
    key: Path


@dataclass(frozen=True, slots=True)
class Bind:
    """Where the console listens. ``port`` 0 asks for a free one; ``names`` are those that people type."""

    host: str = "127.0.0.1"
    port: int = 0
    names: tuple[str, ...] = ()
    tls: Tls | None = None

    @property
    def on_this_machine(self) -> bool:
        """Whether nobody beyond this machine can reach it."""
        return ipaddress.ip_address(self.host).is_loopback

    @property
    def scheme(self) -> str:
        """How its addresses begin."""
        return "http" if self.tls is None else "https"

    @property
    def own_host(self) -> str:
        """The address where it listens, as it stands in a URL."""
        return _in_url(self.host)

    @property
    def shown_host(self) -> str:
        """The name under which somebody should ask for it."""
        return self.names[0] if self.names else self.own_host

    def asked_for(self) -> tuple[str, ...]:
        """Every name under which it may be asked for."""
        address = ipaddress.ip_address(self.host)
        here = _LOOPBACK_NAMES if address.is_loopback or address.is_unspecified else ()
        own = () if address.is_unspecified else (self.own_host,)
        return tuple(dict.fromkeys((*self.names, *own, *here)))


def read_bind(top: TomlTable) -> Bind:
    """The tables ``bind`` and ``tls``; files lie beside the document. Raises InvalidDocument."""
    bind = top.table("bind")
    bind.only("host", "port", "names")
    tls = _tls(top)
    names = _names(bind)
    return Bind(_host(bind, tls, names), bind.port("port"), names, tls)


def _tls(top: TomlTable) -> Tls | None:
    if "tls" not in top.values:
        return None
    table = top.table("tls")
    table.only("certificate", "key")
    folder = Path(top.file).parent
    return Tls(folder / table.text("certificate"), folder / table.text("key"))


def _names(bind: TomlTable) -> tuple[str, ...]:
    texts = bind.texts("names", ())
    if len(texts) > NAMES_MAXIMUM:
        raise bind.wrong("names", f"at most {NAMES_MAXIMUM} of them", len(texts))
    return tuple(_name(bind, text) for text in texts)


def _name(bind: TomlTable, text: str) -> str:
    try:
        return _in_url(text)
    except ValueError:
        pass
    if not _NAME.match(text.lower()):
        raise bind.wrong("names", "names or addresses such as console.example, without a port", text)
    return text.lower()


def _host(bind: TomlTable, tls: Tls | None, names: tuple[str, ...]) -> str:
    text = bind.text("host", "127.0.0.1")
    host = _LOOPBACK_HOSTS.get(text, text)
    try:
        address = ipaddress.ip_address(host)
    except ValueError as error:
        raise bind.wrong("host", "an address in numbers, or localhost", text) from error
    if not address.is_loopback and tls is None:
        expected = "an address of this machine alone (127.0.0.1 or ::1), unless [tls] names a certificate and its key"
        raise bind.wrong("host", expected, text)
    if address.is_unspecified and not names:
        raise bind.wrong("names", f"the names under which people ask for the console, since host is {text}")
    return host


def _in_url(host: str) -> str:
    """An address as it stands in a URL. Raises ValueError for what is none."""
    address = ipaddress.ip_address(host)
    return f"[{address}]" if address.version == 6 else str(address)
