"""What the console's start-up needs, read strictly from one TOML file: nothing of a wrong file is used.

::

    database = "tern-rock.sqlite3"          # a file beside this one, or a database URL
    production = "production.toml"          # a file beside this one; may be left out
    allowed_networks = ["127.0.0.0/8"]      # where devices may live; loopback when left out
    allowed_ports = ["1024-32767"]          # at which ports; these when left out
    device_tokens = "device-tokens.json"    # a file beside this one that keeps the devices' tokens, and nothing else
    device_authorities = "site-ca.pem"      # who vouches for wss:// devices beside those that the machine trusts

    [discovery]
    interfaces = ["192.0.2.5"]              # the machine's own addresses to listen at; off when left out

    [bind]
    host = "127.0.0.1"
    port = 8471                             # 0 or left out: a free one is chosen
    names = ["console.example"]             # under which people ask for it, beside the address itself

    [tls]                                   # needed for a host that other machines can reach
    certificate = "console.pem"             # files beside this one
    key = "console-key.pem"

    [[device]]
    id = "quay-1"
    url = "ws://127.0.0.1:20001"
    label = "Quay rack, top"                # what people call it; may be left out, as all that follows
    expects = "real"                        # or "simulated"; refuse it when it says otherwise
    token = "quay"                          # the name of its bearer token among the device tokens

    [[device]]
    id = "quay-2"
    url = "replay:quay-2.jsonl"             # a recording beside this file, or in a folder below
    speed = 1.0                             # 0.5 to 20 times the recorded pace
    loop = false                            # begin anew at the end
"""

from __future__ import annotations

import ipaddress
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fleet.bind import Bind, read_bind
from fleet.errors import InvalidDocument
from fleet.ids import is_device_id
from fleet.reach import (
    DEFAULT_PORTS,
    LOOPBACK_NETWORKS,
    PORTS_MAXIMUM,
    Network,
    Reach,
    UnreachablePlace,
    read_device_url,
)
from fleet.toml_table import TomlTable

_KEYS_ABOUT_DEVICES = ("allowed_ports", "device_tokens", "device_authorities", "discovery")
DEVICES_MAXIMUM = 1_000
FILE_BYTES_MAXIMUM = 1_048_576
_EXPECTS = {"either": None, "real": False, "simulated": True}
_REPLAY_SCHEME = "replay:"
_SLOWEST, _FASTEST = 0.5, 20.0  # Slower, and heartbeats would come too late; common practice for the other end.
_PORTS = re.compile(r"([0-9]{1,5})(?:-([0-9]{1,5}))?\Z")
LABEL_MAXIMUM = 128
INTERFACES_MAXIMUM = 16


@dataclass(frozen=True, slots=True)
class Replay:
    """A recording in the place of a device: its first file, how many times as fast it plays, and what follows."""

    file: Path
    speed: float = 1.0
    loop: bool = False


@dataclass(frozen=True, slots=True)
class DeviceAddress:
    """Where a device listens. ``url`` is ws:// or wss:// with an address or a name.

    A recording that plays back has ``replay`` instead, and a ``url`` that nothing listens at. ``label`` is what people
    call it. Where ``simulated`` is set, a device that says otherwise of itself is refused. ``token`` is the name of its
    bearer token; the token itself is kept apart.
    """

    device_id: str
    url: str
    replay: Replay | None = None
    label: str = ""
    simulated: bool | None = None
    token: str = ""


@dataclass(frozen=True, slots=True)
class Configuration:
    """A console's start-up, every value checked."""

    database_url: str
    devices: tuple[DeviceAddress, ...] = ()
    bind: Bind = field(default_factory=Bind)
    production_file: Path | None = None
    reach: Reach = field(default_factory=Reach)
    device_tokens: Path | None = None
    device_authorities: Path | None = None
    discovery_interfaces: tuple[str, ...] = ()

    @property
    def host(self) -> str:
        """The address that the console listens at."""
        return self.bind.host

    @property
    def port(self) -> int:
        """The port that it listens at; 0 asks for a free one."""
        return self.bind.port


def read_configuration(path: Path) -> Configuration:
    """Read a configuration file. Raises InvalidDocument, naming the file, the key and what was expected."""
    return configuration_from(_load(path), path)


def configuration_from(document: Mapping[str, Any], path: Path) -> Configuration:
    """Check a document that was read from ``path``; files it names lie beside that one. Raises InvalidDocument."""
    top = TomlTable(str(path), "", document)
    top.only("database", "production", "allowed_networks", "bind", "tls", "device", *_KEYS_ABOUT_DEVICES)
    reach = Reach(_networks(top), _ports(top))
    return Configuration(
        database_url=_database_url(top.text("database"), path.parent),
        devices=_devices(top, reach, path.parent),
        bind=read_bind(top),
        production_file=_beside(path.parent, top.text("production", "")),
        reach=reach,
        device_tokens=_beside(path.parent, top.text("device_tokens", "")),
        device_authorities=_beside(path.parent, top.text("device_authorities", "")),
        discovery_interfaces=_interfaces(top),
    )


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


def _networks(top: TomlTable) -> tuple[Network, ...]:
    default = tuple(str(network) for network in LOOPBACK_NETWORKS)
    return tuple(_network(top, text) for text in top.texts("allowed_networks", default))


def _network(top: TomlTable, text: str) -> Network:
    try:
        return ipaddress.ip_network(text)
    except ValueError as error:
        raise top.wrong("allowed_networks", "networks such as 192.0.2.0/24", text) from error


def _ports(top: TomlTable) -> tuple[tuple[int, int], ...]:
    default = tuple(f"{first}-{last}" for first, last in DEFAULT_PORTS)
    return tuple(_range(top, text) for text in top.texts("allowed_ports", default))


def _range(top: TomlTable, text: str) -> tuple[int, int]:
    found = _PORTS.match(text)
    first, last = (0, 0) if found is None else (int(found[1]), int(found[2] or found[1]))
    if not 1 <= first <= last <= PORTS_MAXIMUM:
        raise top.wrong("allowed_ports", 'ports such as "20001" or "1024-32767"', text)
    return first, last


def _interfaces(top: TomlTable) -> tuple[str, ...]:
    discovery = top.table("discovery")
    discovery.only("interfaces")
    texts = discovery.texts("interfaces", ())
    if len(texts) > INTERFACES_MAXIMUM:
        raise discovery.wrong("interfaces", f"at most {INTERFACES_MAXIMUM} of them", len(texts))
    return tuple(_interface(discovery, text) for text in texts)


def _interface(discovery: TomlTable, text: str) -> str:
    try:
        address = ipaddress.ip_address(text)
    except ValueError as error:
        raise discovery.wrong("interfaces", "addresses of this machine in numbers, such as 192.0.2.5", text) from error
    if address.is_unspecified or address.is_multicast:
        raise discovery.wrong("interfaces", "addresses of this machine, each named", text)
    return str(address)


def _devices(top: TomlTable, reach: Reach, folder: Path) -> tuple[DeviceAddress, ...]:
    devices: dict[str, DeviceAddress] = {}
    for table in top.tables("device", DEVICES_MAXIMUM):
        device = _device(table, reach, folder)
        if device.device_id in devices:
            raise table.wrong("id", "an id that no other device has", device.device_id)
        devices[device.device_id] = device
    return tuple(devices.values())


def _device(table: TomlTable, reach: Reach, folder: Path) -> DeviceAddress:
    if table.text("url").startswith(_REPLAY_SCHEME):
        table.only("id", "url", "label", "speed", "loop")
        return DeviceAddress(_device_id(table), table.text("url"), _replay(table, folder), _label(table))
    table.only("id", "url", "label", "expects", "token")
    simulated = _simulated(table)
    url, token = _device_url(table, reach), table.text("token", "")
    return DeviceAddress(_device_id(table), url, label=_label(table), simulated=simulated, token=token)


def _simulated(table: TomlTable) -> bool | None:
    text = table.text("expects", "either")
    if text not in _EXPECTS:
        raise table.wrong("expects", f"one of {', '.join(_EXPECTS)}", text)
    return _EXPECTS[text]


def _label(table: TomlTable) -> str:
    text = table.text("label", "")
    if len(text) > LABEL_MAXIMUM:
        raise table.wrong("label", f"at most {LABEL_MAXIMUM} characters", len(text))
    return text


def _replay(table: TomlTable, folder: Path) -> Replay:
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


def _device_id(table: TomlTable) -> str:
    text = table.text("id")
    if not is_device_id(text):
        raise table.wrong("id", "1 to 64 of a-z 0-9 . _ - and not 'pack'", text)
    return text


def _device_url(table: TomlTable, reach: Reach) -> str:
    """The URL as it stands; what a name in it leads to is asked about whenever the device is called."""
    text = table.text("url")
    if "@" in text:
        raise table.wrong("url", "no name or password in it")
    try:
        reach.check_place(read_device_url(text))
    except UnreachablePlace as error:
        raise table.wrong("url", f"a device's URL that may be reached, but {error}", text) from error
    return text
