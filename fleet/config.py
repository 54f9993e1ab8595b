"""What the console's start-up needs, read strictly from one TOML file: nothing of a wrong file is used.

::

    database = "tern-rock.sqlite3"          # a file beside this one, or a database URL
    production = "production.toml"          # a file beside this one; may be left out
    allowed_networks = ["127.0.0.0/8"]      # where devices may live; loopback when left out

    [bind]
    host = "127.0.0.1"
    port = 8471                             # 0 or left out: a free one is chosen

    [[device]]
    id = "quay-1"
    url = "ws://127.0.0.1:20001"

    [[device]]
    id = "quay-2"
    url = "replay:quay-2.jsonl"             # a recording beside this file, or in a folder below
    speed = 1.0                             # 0.5 to 20 times the recorded pace
    loop = false                            # begin anew at the end
"""

from __future__ import annotations

import ipaddress
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import SplitResult, urlsplit

from fleet.errors import InvalidDocument
from fleet.ids import is_device_id

DEVICES_MAXIMUM = 1_000
FILE_BYTES_MAXIMUM = 1_048_576
LOOPBACK_NETWORKS = ("127.0.0.0/8", "::1/128")
_LOOPBACK_HOSTS = {"localhost": "127.0.0.1"}
_PORT_MAXIMUM = 65_535
_MISSING = object()
_REPLAY_SCHEME = "replay:"
_SLOWEST, _FASTEST = 0.5, 20.0  # Slower, and heartbeats would come too late; common practice for the other end.

Network = ipaddress.IPv4Network | ipaddress.IPv6Network


@dataclass(frozen=True, slots=True)
class Replay:
    """A recording in the place of a device: its first file, how many times as fast it plays, and what follows."""

    file: Path
    speed: float = 1.0
    loop: bool = False


@dataclass(frozen=True, slots=True)
class DeviceAddress:
    """Where a device listens. ``url`` is ws:// or wss:// with an address in numbers, or localhost.

    A recording that plays back has ``replay`` instead, and a ``url`` that nothing listens at.
    """

    device_id: str
    url: str
    replay: Replay | None = None


@dataclass(frozen=True, slots=True)
class Configuration:
    """A console's start-up, every value checked. ``port`` 0 asks for a free one."""

    database_url: str
    devices: tuple[DeviceAddress, ...] = ()
    host: str = "127.0.0.1"
    port: int = 0
    production_file: Path | None = None
    allowed_networks: tuple[Network, ...] = tuple(ipaddress.ip_network(text) for text in LOOPBACK_NETWORKS)


def read_configuration(path: Path) -> Configuration:
    """Read a configuration file. Raises InvalidDocument, naming the file, the key and what was expected."""
    return configuration_from(_load(path), path)


def configuration_from(document: Mapping[str, Any], path: Path) -> Configuration:
    """Check a document that was read from ``path``; files it names lie beside that one. Raises InvalidDocument."""
    top = _Table(str(path), "", document)
    top.only("database", "production", "allowed_networks", "bind", "device")
    bind = top.table("bind")
    bind.only("host", "port")
    networks = _networks(top)
    return Configuration(
        database_url=_database_url(top.text("database"), path.parent),
        devices=_devices(top, networks, path.parent),
        host=_host(bind),
        port=bind.port("port"),
        production_file=_beside(path.parent, top.text("production", "")),
        allowed_networks=networks,
    )


@dataclass(frozen=True, slots=True)
class _Table:
    """One table of the document, and where it stands in it."""

    file: str
    prefix: str
    values: Mapping[str, Any]

    def wrong(self, key: str, expected: str, found: object = None) -> InvalidDocument:
        return InvalidDocument(self.file, f"{self.prefix}{key}", expected, found)

    def only(self, *known: str) -> None:
        for key in self.values:
            if key not in known:
                raise self.wrong(key, f"one of {', '.join(known)}", key)

    def text(self, key: str, default: str | None = None) -> str:
        value = self.values.get(key, _MISSING if default is None else default)
        if value is _MISSING:
            raise self.wrong(key, "a text, but it is missing")
        if not isinstance(value, str) or (default is None and not value):
            raise self.wrong(key, "a text that isn't empty", value)
        return value

    def port(self, key: str) -> int:
        value = self.values.get(key, 0)
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= _PORT_MAXIMUM:
            raise self.wrong(key, f"a whole number from 0 to {_PORT_MAXIMUM}", value)
        return value

    def number(self, key: str, default: float, minimum: float, maximum: float) -> float:
        value = self.values.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not minimum <= value <= maximum:
            raise self.wrong(key, f"a number from {minimum:g} to {maximum:g}", value)
        return float(value)

    def flag(self, key: str) -> bool:
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            raise self.wrong(key, "true or false", value)
        return value

    def table(self, key: str) -> _Table:
        value = self.values.get(key, {})
        if not isinstance(value, dict):
            raise self.wrong(key, "a table", value)
        return _Table(self.file, f"{self.prefix}{key}.", value)

    def tables(self, key: str, maximum: int) -> list[_Table]:
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            raise self.wrong(key, f"a list of tables, each under [[{key}]]", value)
        if len(value) > maximum:
            raise self.wrong(key, f"at most {maximum} of them", len(value))
        return [_Table(self.file, f"{self.prefix}{key}[{index}].", entry) for index, entry in enumerate(value)]

    def texts(self, key: str, default: tuple[str, ...]) -> tuple[str, ...]:
        value = self.values.get(key, list(default))
        if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
            raise self.wrong(key, "a list of texts", value)
        return tuple(value)


def _load(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            data = file.read(FILE_BYTES_MAXIMUM + 1)
    except OSError as error:
        raise InvalidDocument(str(path), "the file", "a file that can be read", error.strerror) from error
    if len(data) > FILE_BYTES_MAXIMUM:
        raise InvalidDocument(str(path), "the file", f"at most {FILE_BYTES_MAXIMUM} bytes")
    try:
        return tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InvalidDocument(str(path), "the file", "TOML in UTF-8", str(error)) from error
    except RecursionError as error:
        raise InvalidDocument(str(path), "the file", "TOML that isn't nested this deep") from error


def _database_url(text: str, folder: Path) -> str:
    return text if "://" in text else f"sqlite:///{(folder / text).absolute()}"


def _beside(folder: Path, text: str) -> Path | None:
    return folder / text if text else None


def _host(bind: _Table) -> str:
    text = bind.text("host", "127.0.0.1")
    host = _LOOPBACK_HOSTS.get(text, text)
    try:
        loopback = ipaddress.ip_address(host).is_loopback
    except ValueError as error:
        raise bind.wrong("host", "an address in numbers, or localhost", text) from error
    if not loopback:
        # Log-in and TLS come first; until then nobody beyond this machine may reach the console.
        raise bind.wrong("host", "an address of this machine alone (127.0.0.1 or ::1)", text)
    return host


def _networks(top: _Table) -> tuple[Network, ...]:
    return tuple(_network(top, text) for text in top.texts("allowed_networks", LOOPBACK_NETWORKS))


def _network(top: _Table, text: str) -> Network:
    try:
        return ipaddress.ip_network(text)
    except ValueError as error:
        raise top.wrong("allowed_networks", "networks such as 192.0.2.0/24", text) from error


def _devices(top: _Table, networks: tuple[Network, ...], folder: Path) -> tuple[DeviceAddress, ...]:
    devices: dict[str, DeviceAddress] = {}
    for table in top.tables("device", DEVICES_MAXIMUM):
        device = _device(table, networks, folder)
        if device.device_id in devices:
            raise table.wrong("id", "an id that no other device has", device.device_id)
        devices[device.device_id] = device
    return tuple(devices.values())


def _device(table: _Table, networks: tuple[Network, ...], folder: Path) -> DeviceAddress:
    if table.text("url").startswith(_REPLAY_SCHEME):
        table.only("id", "url", "speed", "loop")
        return DeviceAddress(_device_id(table), table.text("url"), _replay(table, folder))
    table.only("id", "url")
    return DeviceAddress(_device_id(table), _device_url(table, networks))


def _replay(table: _Table, folder: Path) -> Replay:
    name = table.text("url").removeprefix(_REPLAY_SCHEME)
    file = _resolved(folder / name)
    if not name or file is None or not file.is_relative_to(folder.resolve()):
        raise table.wrong("url", "a recording in the configuration's folder or below", name)
    if not file.is_file():
        raise table.wrong("url", "a recording that is there", name)
    return Replay(file, table.number("speed", 1.0, _SLOWEST, _FASTEST), table.flag("loop"))


def _resolved(path: Path) -> Path | None:
    """Where a path leads once every link was followed, or None when it can't lead anywhere."""
    try:
        return path.resolve()
    except (OSError, ValueError, RuntimeError):
        return None


def _device_id(table: _Table) -> str:
    text = table.text("id")
    if not is_device_id(text):
        raise table.wrong("id", "1 to 64 of a-z 0-9 . _ - and not 'pack'", text)
    return text


def _device_url(table: _Table, networks: tuple[Network, ...]) -> str:
    text = table.text("url")
    if "@" in text:
        raise table.wrong("url", "no name or password in it")
    parts = _split(text)
    if parts is None or parts.scheme not in {"ws", "wss"} or not parts.hostname:
        raise table.wrong("url", "ws:// or wss:// with a host and a port", text)
    host = _LOOPBACK_HOSTS.get(parts.hostname, parts.hostname)
    try:
        address = ipaddress.ip_address(host)
    except ValueError as error:
        # A name may lead somewhere else tomorrow; a number can't.
        raise table.wrong("url", "an address in numbers, or localhost", parts.hostname) from error
    if not any(address in network for network in networks):
        allowed = ", ".join(str(network) for network in networks) or "nothing"
        raise table.wrong("url", f"an address in allowed_networks ({allowed})", parts.hostname)
    return text


def _split(text: str) -> SplitResult | None:
    """The parts of a URL, or None when it is none; reading the port checks it."""
    try:
        parts = urlsplit(text)
        return parts if parts.port is not None else None
    except ValueError:
        return None
